from django.urls import path

from assembly.shelf_pages import lists, shelf_views

urlpatterns = [
    path("shelf/", shelf_views.shelf_page, name="shelf"),
    path("shelf/packages/", lists.PackageList.as_view(), name="shelf_packages"),
    path("shelf/places/", lists.PlaceList.as_view(), name="shelf_places"),
    path("shelf/level/", shelf_views.set_level, name="shelf_level"),
    path("shelf/spares/", shelf_views.count_spares, name="shelf_spares"),
    path("shelf/place/", shelf_views.add_place, name="shelf_place"),
    path("shelf/place/retire/", shelf_views.retire_place, name="shelf_place_retire"),
    path("shelf/need/", shelf_views.set_needed, name="shelf_need"),
    path("shelf/<str:code>/off/", shelf_views.take_off, name="shelf_off"),
]
