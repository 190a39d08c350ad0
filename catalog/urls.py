from django.urls import include, path

from catalog import spreadsheet_pages as spreadsheets
from catalog import views

app_name = "catalog"

one_spreadsheet = [
    path("", spreadsheets.Batch.as_view(), name="spreadsheet"),
    path("columns/", spreadsheets.Columns.as_view(), name="spreadsheet_columns"),
    path("progress/", spreadsheets.Progress.as_view(), name="spreadsheet_progress"),
    path("apply/", spreadsheets.Apply.as_view(), name="spreadsheet_apply"),
    path("take-back/", spreadsheets.TakeBack.as_view(), name="spreadsheet_take_back"),
    path("changes/", spreadsheets.Changes.as_view(), name="spreadsheet_changes"),
    path("marked.xlsx", spreadsheets.marked, name="spreadsheet_marked"),
    path("refused.xlsx", spreadsheets.refused, name="spreadsheet_refused"),
]

urlpatterns = [
    path("instruments/", views.InstrumentList.as_view(), name="instruments"),
    path("sets/", views.SetList.as_view(), name="sets"),
    path("supplies/", views.SupplyList.as_view(), name="supplies"),
    path("spreadsheets/", spreadsheets.SpreadsheetList.as_view(), name="spreadsheets"),
    path("spreadsheets/columns/", spreadsheets.ColumnHelp.as_view(), name="spreadsheet_help"),
    path("spreadsheets/blank/<str:kind>.xlsx", spreadsheets.blank, name="spreadsheet_blank"),
    path("spreadsheets/<int:pk>/", include(one_spreadsheet)),
]
