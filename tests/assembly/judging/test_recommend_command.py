"""``manage.py recommend`` from the catalog and from JSON."""

from __future__ import annotations

import json
import tomllib
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from tests.factories import catalog as make
from tests.rules.given import CASES

READING = tomllib.loads((CASES / "sizes.toml").read_text())

FACTS: dict[str, Any] = {
    "instrument": {
        "name": "needle holder", "length_mm": 180, "width_mm": 70, "height_mm": 12,
        "weight_g": 75, "sharp": False, "cycles": [{"method": "Steam", "temperature_c": 134}],
    },
    "supplies": [
        {"kind": "pouch", "code": "P03", "inner_width_mm": 84, "inner_length_mm": 255,
         "outer_width_mm": 100, "outer_length_mm": 300, "material": "paper-film", "rated_g": 250},
        {"kind": "pouch", "code": "P04", "inner_width_mm": 134, "inner_length_mm": 255,
         "outer_width_mm": 150, "outer_length_mm": 300, "material": "paper-film", "rated_g": 400},
    ],
}  # fmt: skip


def said(*arguments: str) -> str:
    out = StringIO()
    call_command("recommend", *arguments, stdout=out)
    return out.getvalue()


def from_facts(tmp_path: Path, facts: object) -> dict[str, Any]:
    file = tmp_path / "facts.json"
    file.write_text(facts if isinstance(facts, str) else json.dumps(facts), encoding="utf-8")
    return json.loads(said("--facts", str(file), "--json"))


def changed(path: str, value: object) -> dict[str, Any]:
    """FACTS with one value replaced, by a path such as ``instrument.length_mm``."""
    facts: Any = json.loads(json.dumps(FACTS))
    place: Any = facts
    *steps, last = path.split(".")
    for step in steps:
        place = place[int(step)] if step.isdigit() else place[step]
    place[last] = value
    return facts


class TestFacts:
    def test_the_smallest_pouch_that_meets_every_rule_is_recommended(self, tmp_path: Path) -> None:
        assert from_facts(tmp_path, FACTS)["recommended"]["code"] == "P04"

    def test_a_passed_over_pouch_keeps_every_reason(self, tmp_path: Path) -> None:
        (passed,) = from_facts(tmp_path, FACTS)["passed_over"]
        assert [f["rule"] for f in passed["findings"] if f["status"] == "not met"] == ["width"]

    def test_a_finding_has_figure_limit_margin_and_source(self, tmp_path: Path) -> None:
        findings = {f["rule"]: f for f in from_facts(tmp_path, FACTS)["findings"]}
        width = findings["width"]
        assert (width["figure"], width["limit"], width["margin"]) == (102, 134, 32)
        assert width["source"]

    def test_an_unknown_weight_never_passes(self, tmp_path: Path) -> None:
        decision = from_facts(tmp_path, changed("instrument.weight_g", None))
        assert (decision["status"], decision["recommended"]) == ("undecided", None)

    def test_an_unknown_weight_is_named(self, tmp_path: Path) -> None:
        assert "weight_g" in from_facts(tmp_path, changed("instrument.weight_g", None))["unknown"]

    def test_without_cycles_nothing_is_decided(self, tmp_path: Path) -> None:
        assert from_facts(tmp_path, changed("instrument.cycles", []))["status"] == "undecided"

    def test_a_known_size_alone_can_prove_that_nothing_fits(self, tmp_path: Path) -> None:
        facts = changed("instrument.length_mm", 900)
        facts["instrument"]["height_mm"] = None
        assert from_facts(tmp_path, facts)["status"] == "none"

    def test_a_key_nobody_knows_is_said_not_to_be_considered(self, tmp_path: Path) -> None:
        decision = from_facts(tmp_path, changed("instrument.colour", "blue"))
        assert any("instrument.colour" in caution for caution in decision["cautions"])

    def test_a_policy_value_can_be_replaced(self, tmp_path: Path) -> None:
        facts = {**FACTS, "policy": {"side_clearance_mm": 40}}
        assert from_facts(tmp_path, facts)["recommended"] is None


def sizes_stock() -> list[dict[str, Any]]:
    """The stock of the check values, as JSON; pouches are named by their outer size."""
    seal_width, seal_length = READING["seals"]
    film = {"material": "paper-film", "rated_g": 2000}
    return [
        *({"kind": "pouch", "code": f"{width}x{length}", "outer_width_mm": width,
           "outer_length_mm": length, "inner_width_mm": width - seal_width,
           "inner_length_mm": length - seal_length, "closure": "self-seal", **film}
          for width, length in READING["pouches"]),
        *({"kind": "roll", "code": f"roll {width}", "nominal_width_mm": width, "side_seal_mm": 8,
           **film} for width in READING["rolls"]),
        *({"kind": "wrap", "code": f"wrap {side}", "width_mm": side, "length_mm": side,
           "layers": 2, "material": "sms", "methods": ["steam"], "rated_g": 10_000}
          for side in READING["wraps"]),
    ]  # fmt: skip


@pytest.mark.parametrize("case", READING["case"], ids=lambda case: case["name"])
def test_what_practice_takes_comes_out_of_json_too(tmp_path: Path, case: dict[str, Any]) -> None:
    """Common practice, no source: see the cases."""
    length, width, height, weight = case["item"]
    facts = {
        "instrument": {
            "name": case["name"], "length_mm": length, "width_mm": width, "height_mm": height,
            "weight_g": weight, "sharp": False, "hinged": case.get("hinged", False),
            "cycles": [{"method": "steam", "temperature_c": 134, "exposure_min": 3}],
        },
        "supplies": sizes_stock(),
    }  # fmt: skip
    taken = from_facts(tmp_path, facts)["recommended"]
    assert case["take"] in (taken["code"], f"{taken['kind']} or container")


HOSTILE = [
    ("instrument.length_mm", -1),
    ("instrument.length_mm", 0),
    ("instrument.length_mm", "180"),
    ("instrument.length_mm", True),
    ("instrument.length_mm", [180]),
    ("instrument.length_mm", 1e300),
    ("instrument.length_mm", 10**400),
    ("instrument.weight_g", 1e12),
    ("instrument.sharp", "yes"),
    ("instrument.cycles", [{"method": "cold soak"}]),
    ("instrument.cycles", [{"method": "steam", "exposure_min": 5, "exposure_max": 3}]),
    ("instrument.cycles", "steam"),
    ("instrument.forbids", ["bag"]),
    ("instrument", None),
    ("supplies", None),
    ("supplies", {}),
    ("supplies.0.kind", "bag"),
    ("supplies.0.code", ""),
    ("supplies.0.material", "plastic"),
    ("supplies.0.inner_width_mm", -3),
    ("supplies.0.inner_width_mm", 400),
    ("supplies.0.rated_g", "250"),
    ("supplies.1.code", "P03"),
    ("policy", {"no_such_value": 1}),
    ("policy", {"side_clearance_mm": -5}),
    ("policy", {"fill_limit": 1.5}),
    ("policy", {"roll_seal_mm": 5.9}),
    ("policy", {"kinds_in_order": ["pouch", "bag"]}),
    ("policy", [1]),
    ("double", "yes"),
    ("fold", "diagonal"),
    ("pack", {"length_mm": -1}),
    ("programmes", [{"code": "A", "method": "steam", "exposure_min": -4}]),
]


@pytest.mark.parametrize(("path", "value"), HOSTILE, ids=[f"{p}={str(v)[:20]}" for p, v in HOSTILE])
def test_hostile_facts_end_in_a_clear_error(tmp_path: Path, path: str, value: object) -> None:
    with pytest.raises(CommandError):
        from_facts(tmp_path, changed(path, value))


@pytest.mark.parametrize(
    "text",
    ["", "[]", "null", "{", '{"instrument": {"length_mm": NaN}, "supplies": []}',
     '{"instrument": {"length_mm": Infinity}, "supplies": []}',
     '{"instrument": {"length_mm": 1e999}, "supplies": []}',
     '{"instrument": {"name": "a", "name": "b"}, "supplies": []}', "[" * 100_000,
     '{"instrument": {"length_mm": ' + "9" * 5000 + '}, "supplies": []}'],
    ids=lambda text: text[:30],
)  # fmt: skip
def test_a_text_that_is_no_question_ends_in_a_clear_error(tmp_path: Path, text: str) -> None:
    with pytest.raises(CommandError):
        from_facts(tmp_path, text)


def test_a_file_that_is_not_there_is_a_clear_error() -> None:
    with pytest.raises(CommandError, match="cannot be read"):
        said("--facts", "nowhere.json")


def test_the_question_is_either_an_instrument_or_facts() -> None:
    with pytest.raises(CommandError, match="not both"):
        said("HF-1000", "--facts", "x.json")


@pytest.mark.django_db
class TestCatalog:
    def test_an_instrument_of_the_catalog_is_decided(self) -> None:
        make.Instrument(item_number="T-1")
        pouch = make.Pouch()
        assert json.loads(said("T-1", "--json"))["recommended"]["code"] == pouch.code

    def test_the_sentences_say_what_to_take(self) -> None:
        make.Instrument(item_number="T-1")
        make.Pouch(code="P-150")
        assert "Take pouch P-150" in said("T-1")

    def test_a_number_nobody_bears_is_a_clear_error(self) -> None:
        with pytest.raises(CommandError, match="No instrument and no set"):
            said("T-404")

    def test_rules_that_do_not_apply_are_left_out_unless_asked_for(self) -> None:
        make.Instrument(item_number="T-1")
        make.Pouch()
        assert "DOES NOT APPLY" not in said("T-1")
        assert "DOES NOT APPLY" in said("T-1", "--all")

    @pytest.mark.parametrize("many", [1, 20])
    def test_the_queries_do_not_grow_with_the_stock(
        self, many: int, django_assert_num_queries: Any
    ) -> None:
        from assembly.judging.decisions import decide_for_instrument
        from catalog.models import Instrument

        make.Instrument(item_number="T-1")
        make.Pouch.create_batch(many)
        make.Container.create_batch(many)
        instrument = Instrument.objects.prefetch_related("cycles").get(item_number="T-1")
        with django_assert_num_queries(12):
            decide_for_instrument(instrument)
        with django_assert_num_queries(3):  # the word, empty boxes, what is lent
            decide_for_instrument(instrument)


@pytest.mark.django_db
class TestSet:
    @pytest.fixture
    def sheet(self) -> Any:
        """A set of two instruments in a container validated for two programmes."""
        sheet = make.CountSheet(instrument_set__code="TS-1")
        for code, temperature in (("S132", 132), ("S134", 134)):
            sheet.instrument_set.container.programmes.create(
                code=code, method="steam", temperature_c=temperature, air_removal="dynamic",
                exposure_min=4, drying_min=30,
            )  # fmt: skip
        for name in ("clamp", "probe"):
            self.line(sheet, name, 134)
        return sheet

    def line(self, sheet: Any, name: str, temperature: int) -> None:
        instrument = make.Instrument(name=name, cycles=False)
        make.CycleOption(instrument=instrument, temperature_c=temperature, exposure_min=4)
        make.Line(count_sheet=sheet, instrument=instrument)

    def test_a_set_is_decided(self, sheet: Any) -> None:
        told = json.loads(said("TS-1", "--json"))
        assert (told["status"], told["package"]["kind"], told["cycle"]["programme"]) == (
            "recommended", "container", "S134",
        )  # fmt: skip

    def test_where_one_cycle_serves_nobody_clashes(self, sheet: Any) -> None:
        told = json.loads(said("ts-1", "--json"))
        assert (told["clash"], told["split"]) == (None, [])

    def test_its_findings_have_their_sources(self, sheet: Any) -> None:
        findings = json.loads(said("TS-1", "--json"))["findings"]
        assert findings and all(finding["source"] for finding in findings)

    def test_who_clashes_is_told_with_the_split(self, sheet: Any) -> None:
        self.line(sheet, "rasp", 132)
        told = json.loads(said("TS-1", "--json"))
        assert (told["status"], told["package"], told["cycle"]) == ("none", None, None)
        assert told["clash"] == {
            "instruments": [["rasp"]],
            "sentence": "S134 would serve all but rasp, which is for dynamic air removal steam "
            "132 °C.",
        }
        assert [part["instruments"] for part in told["split"]] == [["clamp", "probe"], ["rasp"]]

    def test_the_text_says_who_in_its_first_sentence(self, sheet: Any) -> None:
        self.line(sheet, "rasp", 132)
        first = said("TS-1").split("What to take")[1].strip().splitlines()[0]
        assert first.startswith("Not as it stands: S134 would serve all but rasp")

    def test_a_set_without_an_approved_sheet_is_a_clear_error(self) -> None:
        make.InstrumentSet(code="TS-2")
        with pytest.raises(CommandError, match="No count sheet of TS-2 is approved"):
            said("TS-2")

    def test_the_instrument_is_meant_where_a_number_is_both(self, sheet: Any) -> None:
        make.Instrument(item_number="TS-1")
        assert "recommended" in json.loads(said("TS-1", "--json"))
