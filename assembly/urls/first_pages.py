from django.urls import path

from assembly.first_pages import views

urlpatterns = [
    path("", views.home, name="home"),
    path("bench/", views.bench, name="bench"),
    path("bench/now/", views.bench_now, name="bench_now"),
    path("waits/", views.waits_page, name="waits"),
    path("how/<slug:role>/", views.how_page, name="how"),
]
