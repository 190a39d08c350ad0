"""Label stocks by hand: what is typed, what is refused, and the ruler page drawn from it."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client

from reports.gathering.stocks import label_stocks
from reports.models import LabelStock
from tests.factories import catalog as make
from tests.factories.requests import a_place
from tests.reports.examples import page_size_mm

pytestmark = pytest.mark.django_db
ROLL = {"name": "", "paper": "", "printer_dpi": "203", "width_mm": "60", "height_mm": "3 cm",
        "margin_mm": "2"}  # fmt: skip
SHEET = {**ROLL, "paper": "A4", "width_mm": "70", "height_mm": "37", "across": "3", "down": "8",
         "left_mm": "0", "top_mm": "0.5", "pitch_x_mm": "70", "pitch_y_mm": "37"}  # fmt: skip


def problems(client: Client, typed: dict[str, str]) -> dict[str, Any]:
    answer = client.post("/papers/new-stock/", typed)
    assert answer.status_code == 200 and not LabelStock.objects.exists()
    return dict(answer.context["form"].errors)


def test_a_roll_is_added_and_has_its_ruler_page(coordinator: Client) -> None:
    page = coordinator.post("/papers/new-stock/", ROLL, follow=True)
    assert page.redirect_chain[-1][0] == "/papers/stocks/roll-60-x-30-mm/"
    ruler = coordinator.get("/papers/stocks/roll-60-x-30-mm/ruler.pdf").content
    assert page_size_mm(ruler) == pytest.approx((60, 30), abs=0.01)


def test_a_sheet_may_begin_at_the_edge_of_the_paper(coordinator: Client) -> None:
    page = coordinator.post("/papers/new-stock/", SHEET, follow=True).content.decode()
    [row] = LabelStock.objects.all()
    assert (row.name, row.left_mm) == ("A4 sheet, 24 labels of 70 x 37 mm", 0)
    assert "office printers print nothing" in page


def test_one_column_needs_no_distance_to_the_next(coordinator: Client) -> None:
    sent = {**SHEET, "across": "1", "pitch_x_mm": ""}
    coordinator.post("/papers/new-stock/", sent)
    assert LabelStock.objects.get().pitch_x_mm == 70


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("width_mm", "", "Measure one label"),
        ("width_mm", "wide", "“wide” has no number"),
        ("margin_mm", "0.5", "0.5 mm was read; 1 mm stay white"),
        ("margin_mm", "20", "Twice 20 mm leaves 0 mm of the shorter side"),
        ("margin_mm", "14", "Twice 14 mm leaves 9 mm of the shorter side"),
        ("printer_dpi", "72", "72"),
        ("across", "0", "“0” is no number of labels from 1 to 20"),
        ("across", "4", "4 across would end at 280 mm, and A4 is 210 mm wide"),
        ("down", "9", "9 down would end at 333.5 mm, and A4 is 297 mm high"),
        ("down", "", "A sheet needs it"),
        ("left_mm", "", "A sheet needs it"),
        ("pitch_x_mm", "69", "69 mm from one label to the next was read, and a label is 70 mm"),
        ("pitch_y_mm", "36,5", "labels would overlap"),
        ("name", "Roll, 70 x 35 mm", "is there already"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field(
    coordinator: Client, field: str, typed: str, words: str
) -> None:
    found = problems(coordinator, {**SHEET, field: typed})
    assert list(found) == [field] and words in found[field][0]


def test_labels_are_printed_on_it_where_a_workstation_keeps_it(coordinator: Client) -> None:
    coordinator.post("/papers/new-stock/", ROLL)
    a_place("A1")
    make.Pouch()
    number = make.Instrument().item_number
    assert "Roll, 60 x 30 mm" in coordinator.get(f"/instruments/{number}/label/").content.decode()
    coordinator.post("/papers/keep/", {"stock": "roll-60-x-30-mm"})
    printed = coordinator.get("/shelf/places/labels.pdf")
    assert printed.status_code == 200
    assert page_size_mm(printed.content) == pytest.approx((60, 30), abs=0.01)


@pytest.mark.parametrize("typed", ["400", "9 mm"])
def test_a_label_that_is_none_is_refused(coordinator: Client, typed: str) -> None:
    found = problems(coordinator, {**ROLL, "height_mm": typed, "margin_mm": "1"})
    assert f"A height of {typed.split()[0]} mm was read; labels of 15 to 300" in str(found)


def test_a_roll_has_no_measures_of_a_sheet(coordinator: Client) -> None:
    found = problems(coordinator, {**SHEET, "paper": ""})
    assert "A roll has none: choose sheets" in found["across"][0]


def test_a_proposal_is_corrected_under_its_own_name(coordinator: Client) -> None:
    form = coordinator.get("/papers/stocks/a4-3x8/").context["form"]
    sent = {name: form[name].value() for name in form.fields}
    page = coordinator.post("/papers/stocks/a4-3x8/", {**sent, "left_mm": "7.4"}, follow=True)
    assert "is saved" in page.content.decode()
    grid = label_stocks()["a4-3x8"].grid
    assert grid and grid.left_mm == 7.4


@pytest.mark.parametrize(("width", "height", "fits"), [("50", "25", True), ("30", "15", False)])
def test_its_page_says_where_no_label_has_room(
    coordinator: Client, width: str, height: str, fits: bool
) -> None:
    sent = {**ROLL, "width_mm": width, "height_mm": height, "margin_mm": "1.25"}
    page = coordinator.post("/papers/new-stock/", sent, follow=True).content.decode()
    assert ("An ordinary label has no room on it: " not in page) == fits


def test_a_name_by_its_size_follows_the_size(coordinator: Client) -> None:
    coordinator.post("/papers/new-stock/", ROLL)
    coordinator.post("/papers/stocks/roll-60-x-30-mm/",
                     {**ROLL, "name": "Roll, 60 x 30 mm", "width_mm": "62"})  # fmt: skip
    assert LabelStock.objects.get().name == "Roll, 62 x 30 mm"


def test_another_like_it_begins_with_its_measures(coordinator: Client) -> None:
    form = coordinator.get("/papers/new-stock/?like=letter-3x7").context["form"]
    assert (form["paper"].value(), form["across"].value(), form["name"].value()) == (
        "letter",
        3,
        "",
    )


def test_out_of_use_it_prints_nothing_and_is_brought_back(coordinator: Client) -> None:
    path = "/papers/stocks/roll-70x35/"
    coordinator.post(f"{path}use/", {"retired": "yes", "reason": "none left"})
    assert coordinator.get(f"{path}ruler.pdf").status_code == 404
    assert path in coordinator.get("/papers/").content.decode()
    coordinator.post(f"{path}use/", {})
    assert coordinator.get(f"{path}ruler.pdf").status_code == 200


def test_what_somebody_else_saved_meanwhile_is_not_overwritten_unseen(coordinator: Client) -> None:
    coordinator.post("/papers/new-stock/", ROLL)
    path = "/papers/stocks/roll-60-x-30-mm/"
    seen = coordinator.get(path).context["form"]["seen"].value()
    coordinator.post(path, {**ROLL, "width_mm": "61"})
    page = coordinator.post(path, {**ROLL, "width_mm": "62", "seen": seen})
    assert "Somebody else saved this" in page.content.decode()
    assert LabelStock.objects.get().width_mm == 61
