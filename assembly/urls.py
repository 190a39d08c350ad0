from django.urls import path

from assembly import policy_views, views

urlpatterns = [
    path("instruments/<str:item_number>/", views.instrument_page, name="instrument"),
    path(
        "sets/<str:code>/count-sheets/<int:revision>/weight/",
        views.draft_weight,
        name="draft_weight",
    ),
    path("sets/<str:code>/", views.set_page, name="set"),
    path("units/", views.choose_units, name="units"),
    path("policy/", policy_views.policy_page, name="policy"),
    path("policy/set/", policy_views.override, name="policy_set"),
    path("policy/preset/", policy_views.take_preset, name="policy_preset"),
]
