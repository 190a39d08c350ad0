from django.urls import path

from assembly.complaints import views

urlpatterns = [
    path("wrong/", views.wrong_page, name="wrong"),
    path("wrong/<int:pk>/act/", views.act, name="wrong_act"),
    path("wrong/notices/<int:pk>/read/", views.read, name="wrong_read"),
    path("packages/<str:code>/wrong/", views.say, name="package_wrong"),
]
