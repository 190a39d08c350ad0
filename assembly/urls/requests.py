from django.urls import path

from assembly.request_pages import asking_views, camera_views, needs_views
from assembly.request_pages import views as request_views
from assembly.shortfalls import views as cause_views

urlpatterns = [
    path("requests/", request_views.list_page, name="requests"),
    path("requests/now/", request_views.list_now, name="requests_now"),
    path("requests/department/", request_views.choose_department, name="request_department"),
    path("requests/ask/", asking_views.ask_page, name="request_ask"),
    path("requests/find/", asking_views.find_part, name="request_find"),
    path("requests/photo/", camera_views.read_photo, name="request_photo"),
    path("requests/day/", needs_views.day_page, name="day"),
    path("requests/day/add/", needs_views.add_need, name="day_add"),
    path("requests/day/<int:pk>/off/", needs_views.take_back, name="day_take_back"),
    path("requests/sources/", asking_views.sources_part, name="request_sources"),
    path("requests/<int:pk>/", request_views.request_page, name="request"),
    path("requests/<int:pk>/now/", request_views.request_now, name="request_now"),
    path("requests/<int:pk>/act/", request_views.act, name="request_act"),
    path("requests/<int:pk>/pack/", request_views.pack_for, name="request_pack"),
    path("requests/causes/", cause_views.causes_page, name="causes"),
    path("requests/causes.csv", cause_views.causes_export, name="causes_export"),
    path("requests/back/<str:item_number>/", cause_views.replenish_page, name="replenish"),
]
