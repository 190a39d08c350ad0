from django.urls import path

from assembly.upkeep_pages import away_views

urlpatterns = [
    path("away/", away_views.away_page, name="away"),
    path("away/send/", away_views.send_to_repair, name="away_send"),
    path("away/sharpened/", away_views.sharpened, name="sharpened"),
    path("away/<int:pk>/act/", away_views.act, name="away_act"),
]
