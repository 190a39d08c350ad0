"""What a sterilizer is run on and a sealer closes with: tests of the day, seal temperature."""

from __future__ import annotations

from datetime import date

import pytest

from assembly.rules.findings import Status
from assembly.rules.limits.equipment import (
    DayFacts,
    SealWindow,
    asked_of,
    day_finding,
    seal_finding,
    stops,
)
from catalog.vocabulary import AirRemoval, Method
from tests.rules.given import policy

TODAY, YESTERDAY, LAST_WEEK = date(2026, 3, 10), date(2026, 3, 9), date(2026, 3, 3)
BAG = SealWindow("P-1", 180, 5, "TPW-IFU 12")


def air(**facts: date) -> DayFacts:
    return DayFacts("air removal", "air-removal test of ST1", **facts)


class TestSealTemperature:
    """180 °C ± 5 °C: the window is the pouch's IFU's; the figures are examples, none is shipped."""

    @pytest.mark.parametrize(
        ("read", "status"),
        [(175, Status.MET), (184, Status.MET), (185, Status.MET), (186, Status.NOT_MET),
         (174.9, Status.NOT_MET), (185.1, Status.NOT_MET), (None, Status.CANNOT_TELL)],
    )  # fmt: skip
    def test_within_the_window_is_met(self, read: float | None, status: Status) -> None:
        assert seal_finding(read, "PS1", (BAG,)).status is status

    def test_it_says_what_is_read_and_what_is_asked(self) -> None:
        said = seal_finding(186, "PS1", (BAG,)).sentence()
        assert said == "PS1 reads 186 °C: P-1 is sealed at 180 °C ± 5 °C (TPW-IFU 12)."

    def test_no_temperature_on_record_cannot_be_told(self) -> None:
        finding = seal_finding(180, "PS1", (SealWindow("P-1"),))
        assert finding.status is Status.CANNOT_TELL

    @pytest.mark.parametrize(("read", "status"), [(180, Status.MET), (181, Status.CANNOT_TELL)])
    def test_without_a_tolerance_only_the_very_temperature(self, read: int, status: Status) -> None:
        assert seal_finding(read, "PS1", (SealWindow("P-1", 180),)).status is status

    def test_of_two_pouches_both_count(self) -> None:
        cooler = SealWindow("P-2", 125, 5)
        assert seal_finding(180, "PS1", (BAG, cooler)).status is Status.NOT_MET


class TestOfTheDay:
    def test_passed_today(self) -> None:
        assert day_finding(air(good=TODAY), TODAY, policy()).status is Status.MET

    @pytest.mark.parametrize("good", [{}, {"good": YESTERDAY}])
    def test_none_today_cannot_be_told_and_stops(self, good: dict[str, date]) -> None:
        finding = day_finding(air(**good), TODAY, policy())
        assert (finding.status, stops(finding, policy())) == (Status.CANNOT_TELL, True)

    def test_one_of_a_day_to_come_is_none_of_today(self) -> None:
        finding = day_finding(air(good=TODAY), YESTERDAY, policy())
        assert (finding.status, stops(finding, policy())) == (Status.CANNOT_TELL, True)

    def test_the_policy_may_make_it_a_caution(self) -> None:
        mild = policy(tests_that_stop=("seal",))
        assert not stops(day_finding(air(), TODAY, mild), mild)

    def test_failed_stops_whatever_the_policy_says(self) -> None:
        mild = policy(tests_that_stop=None)
        assert stops(day_finding(air(good=TODAY, failed=TODAY), TODAY, mild), mild)

    @pytest.mark.parametrize(("good", "status"), [
        (LAST_WEEK, Status.CANNOT_TELL), (date(2026, 3, 4), Status.MET),
    ])  # fmt: skip
    def test_weekly_is_due_on_the_seventh_day(self, good: date, status: Status) -> None:
        leak = DayFacts("leak", "leak test of ST1", good=good)
        assert day_finding(leak, TODAY, policy()).status is status

    def test_what_the_policy_does_not_ask_does_not_apply(self) -> None:
        none = policy(leak_test_every_days=None)
        finding = day_finding(DayFacts("leak", "leak test of ST1"), TODAY, none)
        assert (finding.status, stops(finding, none)) == (Status.DOES_NOT_APPLY, False)


@pytest.mark.parametrize(
    ("method", "air_removal", "asked"),
    [
        (Method.STEAM, AirRemoval.DYNAMIC, ("air removal", "leak", "biological")),
        (Method.STEAM, None, ("air removal", "leak", "biological")),
        (Method.STEAM, AirRemoval.GRAVITY, ("biological",)),
        (Method.EO, None, ("biological",)),
    ],
)
def test_what_a_programme_asks(
    method: Method, air_removal: AirRemoval | None, asked: tuple[str, ...]
) -> None:
    assert asked_of(method, air_removal) == asked
