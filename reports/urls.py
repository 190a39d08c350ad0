from django.urls import path

from reports.pages import package_views, paper_views, scanner_views, views, workstation

urlpatterns = [
    path("scanner/", scanner_views.scanner, name="scanner"),
    path("instruments/<str:item_number>/label.pdf", views.label, name="label"),
    path("instruments/<str:item_number>/label/", views.label_preview, name="label_preview"),
    path(
        "instruments/<str:item_number>/work-card.pdf", views.instrument_card, name="instrument_card"
    ),
    path(
        "instruments/<str:item_number>/work-card/",
        views.instrument_card_preview,
        name="instrument_card_preview",
    ),
    path("sets/<str:code>/count-sheet.pdf", views.count_sheet, name="count_sheet"),
    path("sets/<str:code>/count-sheet/", views.count_sheet_preview, name="count_sheet_preview"),
    path("sets/<str:code>/work-card.pdf", views.set_card, name="set_card"),
    path("sets/<str:code>/work-card/", views.set_card_preview, name="set_card_preview"),
    path("papers/", paper_views.papers, name="papers"),
    path("papers/keep/", workstation.keep, name="keep_papers"),
    path("papers/wall/<slug:key>.pdf", views.wall_card_file, name="wall_card"),
    path("papers/stocks/<slug:key>/ruler.pdf", views.ruler, name="ruler"),
    path("papers/count-sheets/", paper_views.print_count_sheets, name="print_count_sheets"),
    path("papers/runs/<uuid:run>/", paper_views.run_page, name="run"),
    path("papers/runs/<uuid:run>/stop/", paper_views.stop_run, name="stop_run"),
    path("papers/runs/<uuid:run>/file.pdf", paper_views.run_file, name="run_file"),
    path("papers/lists/<slug:key>/", paper_views.list_page, name="list"),
    path("papers/lists/<slug:key>.<str:form>", paper_views.list_file, name="list_file"),
    path("papers/skills/", paper_views.skills, name="skills"),
    path("papers/skills/record/", paper_views.record_skills, name="record_skills"),
    path("packages/<str:code>/label.pdf", package_views.package_label, name="package_label"),
    path(
        "packages/<str:code>/label/",
        package_views.package_label_preview,
        name="package_label_preview",
    ),
    path("loads/<int:pk>/labels.pdf", package_views.load_labels, name="load_labels"),
    path("loads/<int:pk>/labels/", package_views.load_labels_preview, name="load_labels_preview"),
    path(
        "packages/<str:code>/count-sheet.pdf",
        package_views.package_count_sheet,
        name="package_count_sheet",
    ),
]
