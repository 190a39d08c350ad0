from django.urls import path

from assembly.stock import views

urlpatterns = [
    path("stock/empty/", views.box_empty, name="box_empty"),
    path("stock/there/", views.box_there, name="box_there"),
]
