from django.urls import include, path

from catalog.pages import (
    count_sheets,
    editor,
    identifiers,
    instruments,
    lists,
    records,
    sets,
    supplies,
    supply_list,
)
from catalog.pages.spreadsheets import applying, correcting, letters
from catalog.pages.spreadsheets import views as spreadsheets
from catalog.pages.workbook import whole_catalog

app_name = "catalog"

INSTRUMENT = "instruments/<str:item_number>"
CODES = f"{INSTRUMENT}/codes"
SET = "sets/<str:code>"
REVISION = f"{SET}/count-sheets/<int:revision>"
SUPPLY = "supplies/<str:kind>/<str:code>"

one_spreadsheet = [
    path("", spreadsheets.Batch.as_view(), name="spreadsheet"),
    path("columns/", spreadsheets.Columns.as_view(), name="spreadsheet_columns"),
    path("letters/", letters.Letters.as_view(), name="spreadsheet_letters"),
    path("progress/", spreadsheets.Progress.as_view(), name="spreadsheet_progress"),
    path("correct/", correcting.Correct.as_view(), name="spreadsheet_correct"),
    path("apply/", applying.Apply.as_view(), name="spreadsheet_apply"),
    path("take-back/", applying.TakeBack.as_view(), name="spreadsheet_take_back"),
    path("changes/", spreadsheets.Changes.as_view(), name="spreadsheet_changes"),
    path("marked.xlsx", spreadsheets.marked, name="spreadsheet_marked"),
    path("refused.xlsx", spreadsheets.refused, name="spreadsheet_refused"),
]

urlpatterns = [
    path("instruments/", lists.InstrumentList.as_view(), name="instruments"),
    path(f"{CODES}/", identifiers.add, name="add_identifier"),
    path(f"{CODES}/<int:pk>/remove/", identifiers.remove, name="remove_identifier"),
    path("sets/", lists.SetList.as_view(), name="sets"),
    path("supplies/", supply_list.supplies, name="supplies"),
    path("what-is-missing/", records.Missing.as_view(), name="missing"),
    path("whole-catalog.xlsx", whole_catalog, name="whole_catalog"),
    path("records/", records.Records.as_view(), name="records"),
    path("new-instrument/", instruments.add, name="add_instrument"),
    path(f"{INSTRUMENT}/edit/", instruments.edit, name="edit_instrument"),
    path(f"{INSTRUMENT}/retire/", instruments.retire, name="retire_instrument"),
    path(f"{INSTRUMENT}/photo/", instruments.change_photo, name="change_photo"),
    path(f"{INSTRUMENT}/photo.jpg", instruments.photo, name="photo"),
    path("new-set/", sets.add, name="add_set"),
    path(f"{SET}/edit/", sets.edit, name="edit_set"),
    path(f"{SET}/retire/", sets.retire, name="retire_set"),
    path(f"{SET}/new-draft/", count_sheets.start, name="start_draft"),
    path(f"{REVISION}/", count_sheets.read, name="count_sheet"),
    path(f"{REVISION}/edit/", editor.edit, name="edit_count_sheet"),
    path(f"{REVISION}/find/", editor.find, name="find_for_line"),
    path(f"{REVISION}/compare/", count_sheets.compare_page, name="compare"),
    path("new-supply/<str:kind>/", supplies.add, name="add_supply"),
    path(f"{SUPPLY}/", supplies.supply_page, name="supply"),
    path(f"{SUPPLY}/edit/", supplies.edit, name="edit_supply"),
    path("spreadsheets/", spreadsheets.SpreadsheetList.as_view(), name="spreadsheets"),
    path("spreadsheets/columns/", spreadsheets.column_help, name="spreadsheet_help"),
    path("spreadsheets/blank/<str:kind>.xlsx", spreadsheets.blank, name="spreadsheet_blank"),
    path("spreadsheets/<int:pk>/", include(one_spreadsheet)),
]
