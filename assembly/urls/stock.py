from django.urls import path

from assembly.stock import plan_views, views

urlpatterns = [
    path("stock/", views.stock_page, name="stock"),
    path("stock/plan/", plan_views.plan_page, name="stock_plan"),
    path("stock/count/", views.stock_count, name="stock_count"),
    path("stock/no-longer/", views.stock_no_longer, name="stock_no_longer"),
    path("stock/empty/", views.box_empty, name="box_empty"),
    path("stock/there/", views.box_there, name="box_there"),
]
