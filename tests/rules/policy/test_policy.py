"""The data files are read strictly: one broken file per failure, each naming file and key."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from assembly.rules.methods import materials
from assembly.rules.policy import presets
from assembly.rules.policy import values as policy
from assembly.rules.policy.rows import DATA
from assembly.rules.policy.values import (
    Dated,
    Policy,
    PolicyError,
    default_parameters,
    default_policy,
)
from catalog.data_files import DataError
from tests.rules.given import ON

BROKEN = Path(__file__).parent / "broken"
LOADERS = {"policy": policy.load, "presets": presets.load, "materials": materials.load}
FILES = sorted(path for path in BROKEN.glob("*/*.toml") if path.stem != "sound")


def read(path: Path) -> object:
    return LOADERS[path.parent.name](path)


def title(path: Path) -> str:
    return f"{path.parent.name}/{path.stem}"


@pytest.mark.parametrize("path", FILES, ids=title)
class TestBrokenFiles:
    def test_refused_at_the_key(self, path):
        expected = path.read_text().splitlines()[0].removeprefix("# refused at: ")
        with pytest.raises(DataError) as refused:
            read(path)
        assert refused.value.place == expected

    def test_names_the_file(self, path):
        with pytest.raises(DataError, match=f"^{path.name}: "):
            read(path)


@pytest.mark.parametrize("kind", LOADERS)
def test_the_same_file_unbroken_is_read(kind):
    assert read(BROKEN / kind / "sound.toml")


@pytest.mark.parametrize("kind", LOADERS)
def test_the_shipped_file_is_read(kind):
    assert LOADERS[kind](DATA / f"{kind}.toml")


class TestDates:
    parameter = policy.load(BROKEN / "policy" / "sound.toml")["limit_mm"]

    def test_in_force_from_its_day(self):
        assert self.parameter.on(date(2020, 1, 1)).value == 25

    def test_none_before_its_first_day(self):
        with pytest.raises(PolicyError):
            self.parameter.on(date(2019, 12, 31))


class TestOverrides:
    def test_taken(self):
        assert default_policy(ON, {"side_clearance_mm": 30}).number("side_clearance_mm") == 30

    def test_keeps_its_own_source(self):
        own = Dated(ON, 30.0, "infection control committee", "minute 4")
        found = Policy(default_parameters(), ON, {"side_clearance_mm": own})
        assert found.source("side_clearance_mm") == "infection control committee, minute 4"

    def test_without_a_source_says_that_it_came_with_the_question(self):
        found = default_policy(ON, {"side_clearance_mm": 30})
        assert found.source("side_clearance_mm") == "stated with the question"

    @pytest.mark.parametrize(
        ("name", "value"),
        [
            ("side_clearance", 25),
            ("side_clearance_mm", -1),
            ("side_clearance_mm", None),
            ("fill_limit", 1.01),
            ("roll_base_allowance_mm", 0),
            ("wrap_near", "half"),
            ("allow_rotate", "yes"),
            ("kinds_in_order", ["pouch", "bag"]),
        ],
    )
    def test_refused(self, name, value):
        with pytest.raises(PolicyError) as refused:
            default_policy(ON, {name: value})
        assert refused.value.place == name


class TestDigest:
    def test_equal_values_equal_digest(self):
        assert default_policy(ON).digest == default_policy(ON, {"side_clearance_mm": 25}).digest

    def test_another_value_another_digest(self):
        assert default_policy(ON).digest != default_policy(ON, {"side_clearance_mm": 26}).digest


@pytest.mark.parametrize("name", sorted(default_parameters()))
def test_every_shipped_value_says_which_group_it_is_shown_in(name):
    assert default_parameters()[name].group


@pytest.mark.parametrize("bound", ["at_least", "at_most"])
def test_a_value_at_its_bound_is_taken(bound):
    bounded = [one for one in default_parameters().values() if getattr(one, bound) is not None]
    assert len(bounded) > 20
    for one in bounded:
        asked = getattr(one, bound)
        assert default_policy(ON, {one.name: asked}).number(one.name) == asked
