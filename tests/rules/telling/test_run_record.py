"""When a load can be released at the earliest, and what was read off the sterilizer's record."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest

from assembly.rules.facts.cycles import Programme
from assembly.rules.findings import Finding, Status
from assembly.rules.policy.values import default_policy
from assembly.rules.telling.run_record import RunRecord, earliest_end, record_findings
from catalog.vocabulary import Method

PRESSED = datetime(2026, 11, 26, 21, 42, 40, tzinfo=UTC)
S134 = Programme(code="S134-4", method=Method.STEAM, temperature_c=134, exposure_min=4,
                 drying_min=30)  # fmt: skip
MET, NOT_MET, TELL = Status.MET, Status.NOT_MET, Status.CANNOT_TELL


def found(
    after_min: float = 120, programme: Programme | None = S134, band: bool = False,
    **record: object,
) -> dict[str, Finding]:  # fmt: skip
    """The findings so many minutes after the start was pressed, by their rules."""
    policy = default_policy(date(2026, 11, 26), {"temperature_band": band})
    now = PRESSED + timedelta(minutes=after_min)
    made = record_findings(RunRecord(**record), PRESSED, now, programme, policy)  # type: ignore[arg-type]
    return {one.rule: one for one in made}


def at(hour: int, minute: int) -> datetime:
    return PRESSED.replace(hour=hour, minute=minute, second=0)


def test_the_earliest_end_is_start_exposure_and_drying() -> None:
    """21:42 + 4 + 30 min = 22:16, reckoned by hand."""
    assert earliest_end(at(21, 42), S134) == at(22, 16)


@pytest.mark.parametrize(("after_min", "status"), [(0, NOT_MET), (33, NOT_MET), (34, MET)])
def test_a_cycle_is_over_when_its_times_are(after_min: float, status: Status) -> None:
    assert found(after_min)["end of the cycle"].status is status


def test_too_early_it_says_until_when() -> None:
    words = found(5)["end of the cycle"].sentence()
    assert "started 21:42, 4 min exposure and 30 min drying, so not before 22:16" in words


@pytest.mark.parametrize(
    "programme",
    [
        None,
        Programme(code="S", method=Method.STEAM, drying_min=30),
        Programme(code="S", method=Method.STEAM, exposure_min=4),
    ],
)
def test_times_that_are_not_on_record_never_pass_by_themselves(programme: Programme | None) -> None:
    assert found(programme=programme)["end of the cycle"].status is TELL
    assert found(programme=programme, ended=at(22, 30))["end of the cycle"].status is MET


def test_what_is_not_dried_needs_no_drying_time() -> None:
    peroxide = Programme(code="VP", method=Method.H2O2, exposure_min=40)
    assert found(41, peroxide)["end of the cycle"].status is MET


def test_a_record_that_ends_sooner_needs_a_reason() -> None:
    early = {"ended": at(22, 10)}
    assert found(40, **early)["end of the cycle"].status is NOT_MET
    taken = found(40, **early, why="drying was stopped by hand")["end of the cycle"]
    assert (taken.status, "stopped by hand" in taken.sentence()) == (MET, True)


@pytest.mark.parametrize("ended", [at(21, 45), at(21, 42), at(21, 30), at(23, 30)])
def test_no_reason_shortens_an_exposure_or_takes_an_end_to_come(ended: datetime) -> None:
    assert found(90, ended=ended, why="because")["end of the cycle"].status is NOT_MET


@pytest.mark.parametrize(
    ("minute", "status"), [(27, NOT_MET), (28, MET), (42, MET), (57, MET), (58, NOT_MET)]
)
def test_a_start_far_from_the_one_pressed_may_be_another_loads(minute: int, status: Status) -> None:
    """15 min is the policy's value; the press was at 21:42:40."""
    record = {"started": at(21, minute), "ended": at(23, 0)}
    assert found(**record)["start of the cycle"].status is status
    assert found(**record, why="pressed late")["start of the cycle"].status is MET


@pytest.mark.parametrize(
    ("name", "asked", "below"),
    [("least_c", 134, 133.9), ("exposure_min", 4, 3.9), ("drying_min", 30, 29)],
)
def test_a_figure_is_held_against_its_cycle(name: str, asked: float, below: float) -> None:
    rule = {"least_c": "least temperature"}.get(name, name.removesuffix("_min"))
    assert found(**{name: asked})[rule].status is MET
    assert found(**{name: below})[rule].status is NOT_MET


@pytest.mark.parametrize(("name", "rule", "status"), [
    ("least_c", "least temperature", NOT_MET), ("exposure_min", "exposure", NOT_MET),
    ("drying_min", "drying", MET),
])  # fmt: skip
def test_a_reason_takes_a_shorter_drying_and_nothing_else(
    name: str, rule: str, status: Status
) -> None:
    assert found(**{name: 3}, why="the gauge is known")[rule].status is status


@pytest.mark.parametrize(("greatest", "status"), [(137, MET), (137.1, NOT_MET)])
def test_the_band_above_the_temperature_is_kept_where_it_is_set(
    greatest: float, status: Status
) -> None:
    """3 °C: EN 285 as remembered, a setting, off by default."""
    assert found(band=True, greatest_c=greatest)["greatest temperature"].status is status
    assert found(greatest_c=greatest)["greatest temperature"].status is Status.DOES_NOT_APPLY


def test_a_greatest_below_the_least_was_read_wrong() -> None:
    assert found(least_c=135, greatest_c=134)["greatest temperature"].status is NOT_MET


def test_what_was_not_typed_is_not_judged() -> None:
    assert list(found()) == ["end of the cycle"]


def test_untyped_no_reason_releases_before_the_end() -> None:
    assert found(33, why="because")["end of the cycle"].status is NOT_MET
