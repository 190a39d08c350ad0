"""The layout of a set: its page, moved by presses, saved with one revision of the count sheet."""

from __future__ import annotations

import json
import re
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.test import Client

from assembly.layouts import saved
from assembly.ledger import Refused
from assembly.models import SetLayout
from assembly.persons import person_of
from catalog.models import Change, InstrumentSet
from tests.factories import bench as at

pytestmark = pytest.mark.django_db
PAGE = "/sets/TS-1/layout/"


@pytest.fixture
def of() -> InstrumentSet:
    """Three pieces on one stringer, and four that lie by themselves."""
    made = at.a_set("TS-1", (1, 2, 4))
    third = made.count_sheets.get().lines.last()
    assert third
    third.instrument.hinged = False
    third.instrument.name = "Retractor"
    third.instrument.save()
    return made


def plan_of(of: InstrumentSet) -> dict[str, Any]:
    sheet = of.current
    assert sheet
    return saved.layout_of(saved.asked_of(of, saved.lines_of(sheet)), sheet).laid.plan


def kept(of: InstrumentSet, revision: int = 1, **changes: Any) -> SetLayout:
    return saved.save(at.person(), "TS-1", revision, {**plan_of(of), **changes}, at.key())


def test_the_page_says_the_verdict_and_draws_each_layer(technician, of) -> None:
    page = technician.get(PAGE)
    assert b"Fits" in page.content and b"Proposed, not saved." in page.content
    assert page.content.count(b"<svg") == len({one["layer"] for one in plan_of(of)["places"]})


def sent(client: Client, of: InstrumentSet, **more: Any) -> Any:
    return client.post(PAGE, {"plan": json.dumps(plan_of(of)), "piece": "3.1", **more})


def place_in(page: Any, key: str) -> dict[str, Any]:
    plan = json.loads(page.context["plan"])
    return next(one for one in plan["places"] if one["key"] == key)


class TestMoved:
    def test_one_press_moves_a_piece_and_saves_nothing(self, technician, of) -> None:
        page = sent(technician, of, step="to", layer="1", x="390 mm", y="190")
        lies = place_in(page, "3.1")
        assert (lies["x"], lies["y"]) == (390, 190)
        assert not SetLayout.objects.exists()

    def test_an_arrow_moves_it_by_ten_millimetres(self, technician, of) -> None:
        page = sent(technician, of, step="to", layer="1", x="300", y="120")
        again = technician.post(
            PAGE, {"plan": page.context["plan"], "piece": "3.1", "step": "right"}
        )
        assert place_in(again, "3.1")["x"] == 310

    def test_a_partial_request_gets_the_part_alone(self, technician, of) -> None:
        press = {"plan": json.dumps(plan_of(of)), "piece": "3.1", "step": "choose"}
        page = technician.post(PAGE, press, headers={"HX-Request": "true"})
        assert page.content.lstrip().startswith(b'<div id="layout"')

    @pytest.mark.parametrize(
        ("field", "value", "words"),
        [
            ("plan", "{", "The page did not send its layout. Load it again."),
            ("plan", "[]", "The page did not send its layout. Load it again."),
            ("plan", "[" * 9000, "The page did not send its layout. Load it again."),
            ("plan", '{"levels": 1, "into": "basket X"}', "The record has changed"),
            ("piece", "zzz", "There is no piece “zzz”"),
            ("step", "fly", "“fly” is no way to move a piece"),
            ("layer", "two", "“two” is no number of a layer"),
            ("layer", "9", "There is no layer 9"),
            ("layer", "", "Say the layer"),
            ("x", "far", "far"),
        ],
    )
    def test_what_cannot_be_read_or_done_is_said(self, technician, of, field, value, words) -> None:
        step = "left" if field == "step" else "to"
        page = sent(
            technician, of, **{"step": step, "layer": "1", "x": "0", "y": "0", field: value}
        )
        assert (page.status_code, words in page.content.decode()) == (422, True)

    def test_who_may_not_assemble_moves_nothing(self, liaison_client, of) -> None:
        assert sent(liaison_client, of, step="choose").status_code == 403


class TestSaved:
    def press(self, client: Client, of: InstrumentSet, **more: Any) -> Any:
        return client.post(PAGE, {"act": "save", "plan": json.dumps(plan_of(of)), "revision": "1",
                                  "key": "a key of 1", **more}, follow=True)  # fmt: skip

    def test_it_is_shown_from_then_on_with_who_saved_it(self, technician, of) -> None:
        page = self.press(technician, of)
        assert b"Saved by" in page.content and SetLayout.objects.count() == 1

    def test_twice_the_same_press_is_saved_once(self, technician, of) -> None:
        self.press(technician, of)
        self.press(technician, of)
        assert SetLayout.objects.count() == 1

    def test_it_is_in_the_history_of_its_set(self, technician, of) -> None:
        self.press(technician, of)
        assert Change.objects.filter(object_key="TS-1").first().after == {
            "layout": "revision 1, 5 places"
        }

    def test_another_revision_is_refused(self, technician, of) -> None:
        page = self.press(technician, of, revision="7")
        assert "Revision 7 is no longer in force" in page.content.decode()
        assert not SetLayout.objects.exists()

    def test_what_lies_on_another_piece_is_refused(self, of) -> None:
        places = plan_of(of)["places"]
        on_one = [{**one, "x": 0, "y": 0, "layer": 1} for one in places]
        with pytest.raises(Refused, match=r"on another piece\. Nothing was saved"):
            kept(of, places=on_one)

    def test_the_next_revision_has_none_and_the_page_says_so(self, technician, of) -> None:
        kept(of)
        sheet = of.current
        assert sheet
        lines = list(sheet.lines.all())
        sheet.state = "retired"
        sheet.save()
        after = of.count_sheets.create(revision=2, state="current", approved_by="a coordinator")
        for line in lines:
            line.pk, line.count_sheet = None, after
            line.save()
        text = technician.get(PAGE).content.decode()
        assert "Revision 2 has no layout yet; revision 1 has one." in text

    def test_another_size_on_record_is_said_and_the_layout_is_not_shown(
        self, technician, of
    ) -> None:
        kept(of)
        line = of.count_sheets.get().lines.last()
        assert line
        line.instrument.length_mm = 150
        line.instrument.save()
        text = technician.get(PAGE).content.decode()
        assert "What was saved is not shown." in text and "The record has changed" in text

    def test_where_a_line_lies_is_said_for_the_basket_on_record_alone(self, of) -> None:
        sheet = kept(of).count_sheet
        found = saved.here_of(sheet, of, 3)
        assert found and found.scene and found.words.startswith("layer 1, ")
        of.container = None
        assert saved.here_of(sheet, of, 3) is None


def test_the_assembly_says_where_the_current_line_lies(technician, of) -> None:
    kept(of)
    build = at.a_build(of, person_of(User.objects.get(username="a-technician")))
    text = technician.get(f"/builds/{build.pk}/").content.decode()
    assert re.search(r'class="here"><svg.*layer 1, [^<]*stringer 1</figcaption>', text, re.S)


def test_without_a_saved_layout_the_assembly_says_nothing_of_it(technician, of) -> None:
    build = at.a_build(of, person_of(User.objects.get(username="a-technician")))
    assert 'class="here"' not in technician.get(f"/builds/{build.pk}/").content.decode()


def test_without_a_basket_nobody_can_tell_and_nothing_can_be_saved(technician, of) -> None:
    of.container = None
    of.save()
    text = technician.get(PAGE).content.decode()
    assert "Cannot tell" in text and "Save with revision" not in text


def test_without_an_approved_count_sheet_the_page_says_so(technician, of) -> None:
    of.count_sheets.update(state="draft")
    assert "No count sheet of this set is approved" in technician.get(PAGE).content.decode()
