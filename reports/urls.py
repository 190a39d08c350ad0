from django.urls import path

from reports import package_views, views

urlpatterns = [
    path("instruments/<str:item_number>/label.pdf", views.label, name="label"),
    path("sets/<str:code>/count-sheet.pdf", views.count_sheet, name="count_sheet"),
    path("packages/<str:code>/label.pdf", package_views.package_label, name="package_label"),
    path(
        "packages/<str:code>/count-sheet.pdf",
        package_views.package_count_sheet,
        name="package_count_sheet",
    ),
]
