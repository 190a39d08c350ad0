from django.urls import path

from reports.pages import (
    board_views,
    equipment_views,
    list_views,
    package_views,
    paper_views,
    place_views,
    scanner_views,
    stock_plan_views,
    stock_views,
    views,
    workstation,
)
from reports.pages.policy import what_if_views
from reports.pages.teaching import posters, skills

INSTRUMENT = "instruments/<str:item_number>"
SET = "sets/<str:code>"
PACKAGE = "packages/<str:code>"
LOAD = "loads/<int:pk>"
RUN = "papers/runs/<uuid:run>"

urlpatterns = [
    path("scanner/", scanner_views.scanner, name="scanner"),
    path(f"{INSTRUMENT}/label.pdf", views.label, name="label"),
    path(f"{INSTRUMENT}/label/", views.label_preview, name="label_preview"),
    path(f"{INSTRUMENT}/work-card.pdf", views.instrument_card, name="instrument_card"),
    path(f"{INSTRUMENT}/work-card/", views.instrument_card_preview, name="instrument_card_preview"),
    path(f"{SET}/count-sheet.pdf", views.count_sheet, name="count_sheet"),
    path(f"{SET}/count-sheet/", views.count_sheet_preview, name="count_sheet_preview"),
    path(f"{SET}/split.pdf", views.set_split, name="split_file"),
    path(f"{SET}/work-card.pdf", views.set_card, name="set_card"),
    path(f"{SET}/work-card/", views.set_card_preview, name="set_card_preview"),
    path("papers/", paper_views.papers, name="papers"),
    path("work-ahead/board.pdf", board_views.shift_board, name="shift_board"),
    path("papers/keep/", workstation.keep, name="keep_papers"),
    path("papers/wall/", posters.posters, name="posters"),
    path("papers/wall/set/", posters.set_posters, name="set_posters"),
    path("papers/wall/temperatures.pdf", posters.temperatures_file, name="temperatures_card"),
    path("papers/wall/<slug:key>/", posters.poster, name="poster"),
    path("papers/wall/<slug:key>.pdf", posters.poster_file, name="poster_file"),
    path("papers/new-stock/", stock_views.add, name="new_stock"),
    path("papers/codes/", stock_views.codes, name="label_codes"),
    path("papers/stocks/<slug:key>/", stock_views.edit, name="stock"),
    path("papers/stocks/<slug:key>/use/", stock_views.use, name="stock_use"),
    path("papers/stocks/<slug:key>/ruler.pdf", stock_views.ruler, name="ruler"),
    path("papers/count-sheets/", paper_views.print_count_sheets, name="print_count_sheets"),
    path(f"{RUN}/", paper_views.run_page, name="run"),
    path(f"{RUN}/stop/", paper_views.stop_run, name="stop_run"),
    path(f"{RUN}/file/", paper_views.run_file, name="run_file"),
    path("papers/stock-plan.<str:form>", stock_plan_views.stock_plan_file, name="stock_plan_file"),
    path("policy/what-if/", what_if_views.what_if_page, name="what_if"),
    path("policy/what-if.<str:form>", what_if_views.what_if_file, name="what_if_file"),
    path("papers/lists/<slug:key>/", list_views.list_page, name="list"),
    path("papers/lists/<slug:key>.<str:form>", list_views.list_file, name="list_file"),
    path("papers/skills/", skills.skills, name="skills"),
    path("papers/skills/<slug:key>.pdf", skills.skills_sheet_file, name="skills_sheet"),
    path("papers/skills/<slug:key>/", skills.skills_form, name="skills_form"),
    path("papers/skills/<slug:key>/record/", skills.record_skills, name="record_skills"),
    path(f"{PACKAGE}/labels.pdf", package_views.alike_labels, name="alike_labels"),
    path(f"{PACKAGE}/labels/", package_views.alike_labels_preview, name="alike_labels_preview"),
    path(f"{PACKAGE}/label.pdf", package_views.package_label, name="package_label"),
    path(f"{PACKAGE}/label/", package_views.package_label_preview, name="package_label_preview"),
    path(f"{PACKAGE}/record/", package_views.record, name="package_record"),
    path(f"{PACKAGE}/record.pdf", package_views.record_file, name="package_record_pdf"),
    path("shelf/places/labels.pdf", place_views.place_labels, name="place_labels"),
    path("shelf/places/labels/", place_views.place_labels_preview, name="place_labels_preview"),
    path(f"{LOAD}/labels.pdf", package_views.load_labels, name="load_labels"),
    path(
        "equipment/<str:what>/<str:code>/month.pdf",
        equipment_views.equipment_month,
        name="equipment_month_pdf",
    ),
    path("recalls/<int:pk>/sheet.pdf", package_views.recall_sheet, name="recall_sheet"),
    path(f"{LOAD}/labels/", package_views.load_labels_preview, name="load_labels_preview"),
    path(
        f"{PACKAGE}/count-sheet.pdf", package_views.package_count_sheet, name="package_count_sheet"
    ),
]
