from django.urls import path

from catalog import identifier_views, views

app_name = "catalog"

urlpatterns = [
    path("instruments/", views.InstrumentList.as_view(), name="instruments"),
    path(
        "instruments/<str:item_number>/codes/",
        identifier_views.add,
        name="add_identifier",
    ),
    path(
        "instruments/<str:item_number>/codes/<int:pk>/remove/",
        identifier_views.remove,
        name="remove_identifier",
    ),
    path("sets/", views.SetList.as_view(), name="sets"),
    path("supplies/", views.SupplyList.as_view(), name="supplies"),
]
