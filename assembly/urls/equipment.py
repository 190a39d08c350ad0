from django.urls import path

from assembly.equipment_pages import views

urlpatterns = [
    path("equipment/", views.today_page, name="equipment"),
    path("equipment/tests/<int:pk>/act/", views.act, name="equipment_act"),
    path("equipment/<str:what>/<str:code>/", views.month_page, name="equipment_month"),
    path("equipment/<str:what>/<str:code>/record/", views.record, name="equipment_record"),
]
