from django.urls import path

from catalog import views

app_name = "catalog"

urlpatterns = [
    path("instruments/", views.InstrumentList.as_view(), name="instruments"),
    path("sets/", views.SetList.as_view(), name="sets"),
    path("supplies/", views.SupplyList.as_view(), name="supplies"),
]
