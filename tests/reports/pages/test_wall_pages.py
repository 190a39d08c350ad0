"""Posters on their pages: whose they are is set, checked and said."""

from __future__ import annotations

from datetime import timedelta
from html import unescape

import pytest
from django.utils import timezone

from assembly.rules.days import day_words
from catalog.models import Change
from reports.gathering.posters import DESIGNS
from reports.models import WallPoster
from tests.reports.examples import page_texts

pytestmark = pytest.mark.django_db


def fields(client) -> dict[str, str]:
    """What the page would send, as a browser reads it."""
    rows = client.get("/papers/wall/").context["rows"]
    return {
        f"{name}-{row['one'].key}": row[name]
        for row in rows
        for name in ("seen", "owner", "number", "until")
    }


def keep(client, **typed: str):
    return client.post("/papers/wall/set/", {**fields(client), **typed}, follow=True)


def wall(owner="SPD", number="W-1", until="2027-03-06"):
    return {"owner-rack": owner, "number-rack": number, "until-rack": until}


def test_what_is_set_stands_on_the_poster_and_in_the_history(coordinator):
    keep(coordinator, **wall())
    [text] = page_texts(coordinator.get("/papers/wall/rack.pdf").content)
    assert all(words in text for words in ("Owner: SPD", "No. W-1", "Valid until 6 Mar 2027"))
    assert Change.objects.get(kind="wall poster").after["number"] == "W-1"


def test_the_sheet_of_sealing_temperatures_is_a_document_of_the_department_too(coordinator):
    day = timezone.localdate() - timedelta(days=1)
    keep(coordinator, **{"owner-temperatures": "SPD", "number-temperatures": "W-9",
                         "until-temperatures": day.isoformat()})  # fmt: skip
    [text] = page_texts(coordinator.get("/papers/wall/temperatures.pdf").content)
    said = ("Owner: SPD", "No. W-9", f"Valid until {day_words(day)}", "NOT VALID SINCE")
    assert [words for words in said if words not in " ".join(text.split())] == []
    assert "Sealing temperatures" in coordinator.get("/papers/").content.decode()


def test_only_what_was_changed_is_kept_anew(coordinator):
    keep(coordinator, **wall())
    keep(coordinator, **{"owner-seals": "SPD"})
    assert Change.objects.filter(kind="wall poster").count() == 2


def test_a_change_of_somebody_else_is_not_overwritten(coordinator):
    before = fields(coordinator)
    keep(coordinator, **wall())
    page = coordinator.post("/papers/wall/set/", {**before, **wall("Theatre")})
    assert page.status_code == 422 and "somebody else" in page.content.decode()
    assert WallPoster.objects.get().owner == "SPD"


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        (wall(until="6 March"), "is no date"),
        (wall(owner="x" * 61), "60 signs"),
    ],
)
def test_what_cannot_be_kept_says_why_and_nothing_is(coordinator, typed, words):
    page = keep(coordinator, **{"owner-seals": "SPD"}, **typed)
    text = unescape(page.content.decode())
    assert page.status_code == 422 and words in text and "Pouches stand on edge" in text
    assert 'value="SPD"' in text and not WallPoster.objects.exists()


@pytest.mark.parametrize(("days", "overdue"), [(0, False), (-1, True)])
def test_the_papers_page_says_which_poster_is_overdue(coordinator, days, overdue):
    day = timezone.localdate() + timedelta(days=days)
    WallPoster.objects.create(key="rack", owner="SPD", number="W-1", valid_until=day)
    assert ("overdue since" in coordinator.get("/papers/").content.decode()) is overdue
    [text] = page_texts(coordinator.get("/papers/wall/rack.pdf").content)
    assert ("NOT VALID SINCE" in text) is overdue


@pytest.mark.parametrize("key", DESIGNS)
def test_the_page_of_a_poster_has_its_drawings_and_its_sources(technician, key):
    page = technician.get(f"/papers/wall/{key}/")
    text = unescape(page.content.decode())
    made = page.context["poster"]
    assert text.count("<svg") == len(made.panels)
    assert [one for one in made.facts if one.source not in text] == []


def test_there_is_no_poster_of_another_name(technician):
    assert technician.get("/papers/wall/knitting/").status_code == 404
