"""What was wrong by month: counts, of how many packages, and the plots of them."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from assembly.complaints import saying
from assembly.complaints.plot import BAR_FROM_MM, BAR_TO_MM, plots
from assembly.complaints.trend import Figure, Series, series
from assembly.models import Complaint, Load, LoadedPackage, Package
from assembly.rules.drawing.shapes import Rect, Text
from reports.gathering.list_files import KINDS
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import loads
from tests.factories import requests as ask
from tests.factories.hospital import _copy

pytestmark = pytest.mark.django_db
UNTIL = date(2026, 3, 20)
FEBRUARY, MARCH = date(2026, 2, 1), date(2026, 3, 1)


@pytest.fixture
def four() -> list[Package]:
    """Four packages of February, the last one of March; three of them in a load of March."""
    first = ask.a_package(make.Instrument())
    found = [first, *(_copy(first, number) for number in range(3))]
    load = loads.released(*found[:3])
    Load.objects.filter(pk=load.pk).update(day=date(2026, 3, 2))
    Package.objects.update(packed_at=datetime(2026, 2, 9, 12, tzinfo=UTC))
    Package.objects.filter(pk=found[3].pk).update(packed_at=datetime(2026, 3, 9, 12, tzinfo=UTC))
    return found


def said(package: Package, kind: str, day: date) -> Complaint:
    made = saying.say(ask.liaison(), package.pk, kind, at.key())
    noon = datetime(day.year, day.month, day.day, 12, tzinfo=UTC)
    Complaint.objects.filter(pk=made.pk).update(at=noon)
    return made


def figures(title: str) -> dict[date, Figure]:
    [one] = [one for one in series(UNTIL) if one.title == title]
    return {figure.month: figure for figure in one.figures}


def test_by_the_month_in_which_it_was_said(four: list[Package]) -> None:
    """1 of 3 packages of February: 333.3 of each 1,000; 1 of 1 of March: 1,000."""
    said(four[0], "wet", date(2026, 2, 28))
    said(four[1], "wet", date(2026, 3, 1))
    found = figures("Wet")
    assert (found[FEBRUARY].words, found[MARCH].words) == ("1 of 3 · 333.3", "1 of 1 · 1000.0")
    assert len(found) == 12 and found[date(2025, 4, 1)].words == "0 of 0"


def test_what_was_said_by_mistake_does_not_count(four: list[Package]) -> None:
    made = said(four[0], "hole", MARCH)
    saying.mistaken(at.person(), made.pk, at.key(), "another package")
    assert figures("Hole or tear")[MARCH].count == 0


def test_wet_at_the_sterilizer_is_of_what_was_run(four: list[Package]) -> None:
    LoadedPackage.objects.filter(package=four[0]).update(wet_because="drying")
    assert figures("Wet at the sterilizer")[MARCH] == Figure(MARCH, 1, 3)


def test_the_list_has_a_row_a_month_and_its_plots(four: list[Package]) -> None:
    said(four[0], "wet", date.today())
    kind = KINDS["wrong-by-month"]
    rows = list(kind.rows())
    assert len(rows) == 12 and rows[0][0] == f"{date.today():%Y-%m}" and rows[0][4] == "1"
    assert [one.title for one in kind.plots()] == ["Wet"]


def test_by_who_packed_it(four: list[Package]) -> None:
    said(four[0], "wet", MARCH)
    Package.objects.update(packed_at=datetime.now(UTC))
    assert list(KINDS["wrong-by-packer"].rows()) == [("Tam Birkett", "4", "1", "250.0", "wet 1")]


def test_bars_of_all_plots_have_one_scale() -> None:
    """The longest bar is the highest rate of all; half of it is half as long."""
    high = Series("High", (Figure(FEBRUARY, 2, 100), Figure(MARCH, 0, 0)))
    low = Series("Low", (Figure(FEBRUARY, 1, 100), Figure(MARCH, 0, 100)))
    none = Series("None", (Figure(FEBRUARY, 0, 100),))
    drawn = plots([high, low, none])
    bars = [[one.width for one in scene.shapes if isinstance(one, Rect)] for scene in drawn]
    room = BAR_TO_MM - BAR_FROM_MM
    assert bars == [[pytest.approx(room)], [pytest.approx(room / 2)]]
    words = {one.words for one in drawn[0].shapes if isinstance(one, Text)}
    assert {"High", "2026-02", "2 of 100 · 20.0", "0 of 0"} <= words
