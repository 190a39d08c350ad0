from django.urls import path

from reports import scanner_views, views

urlpatterns = [
    path("scanner/", scanner_views.scanner, name="scanner"),
    path("instruments/<str:item_number>/label.pdf", views.label, name="label"),
    path("sets/<str:code>/count-sheet.pdf", views.count_sheet, name="count_sheet"),
]
