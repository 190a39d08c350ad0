from django.urls import path

from assembly.sterilizing import views as load_views

urlpatterns = [
    path("loads/", load_views.list_page, name="loads"),
    path("loads/begin/", load_views.begin_load, name="load_begin"),
    path("loads/<int:pk>/", load_views.load_page, name="load"),
    path("loads/<int:pk>/act/", load_views.act, name="load_act"),
]
