from django.urls import path

from assembly.upkeep_pages import away_views, container_views, loaner_views

urlpatterns = [
    path("away/", away_views.away_page, name="away"),
    path("away/send/", away_views.send_to_repair, name="away_send"),
    path("away/sharpened/", away_views.sharpened, name="sharpened"),
    path("away/<int:pk>/act/", away_views.act, name="away_act"),
    path("containers/", container_views.containers_page, name="containers"),
    path("containers/add/", container_views.add_container, name="container_add"),
    path("containers/<str:number>/", container_views.container_page, name="container"),
    path("containers/<int:pk>/act/", container_views.act_on_container, name="container_act"),
    path("loaners/", loaner_views.loaners_page, name="loaners"),
    path("loaners/in/", loaner_views.take_in, name="loaner_in"),
    path("loaners/<int:pk>/", loaner_views.loaner_page, name="loaner"),
    path("loaners/<int:pk>/act/", loaner_views.act_on_loaner, name="loaner_act"),
]
