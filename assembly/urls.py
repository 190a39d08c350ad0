from django.urls import path

from assembly import views

urlpatterns = [
    path("instruments/<str:item_number>/", views.instrument_page, name="instrument"),
    path(
        "sets/<str:code>/count-sheets/<int:revision>/weight/",
        views.draft_weight,
        name="draft_weight",
    ),
    path("sets/<str:code>/", views.set_page, name="set"),
]
