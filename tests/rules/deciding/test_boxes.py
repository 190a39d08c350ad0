"""Boxes that are empty: the next that fits, never without indicator or protector.

No outside source: that an empty box makes no package go without is the department's own rule.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from assembly.rules.deciding.boxes import boxes_of, emptied_for, protectors_left
from assembly.rules.deciding.choose import decide
from assembly.rules.deciding.set_facts import SetLine, SetQuestion
from assembly.rules.deciding.sets import decide_set
from assembly.rules.facts.cycles import CycleOption
from assembly.rules.facts.supplies import Emptied, Protector
from assembly.rules.findings import Decision, Outcome
from assembly.rules.telling.explain import headline, way_out
from catalog.vocabulary import Method, ProtectorMaterial
from tests.rules.deciding.practice import pouch, roll, today
from tests.rules.given import STEAM, instrument, policy, question, steam_run, stock, wrap

ITEM = instrument(150, 40, 10)
RUN = steam_run("S134")
STEAM_BOX = Emptied("indicator:steam", "Indicators for steam", "Tam Birkett, 21:40")


def decided(*out: str | Emptied, **more: Any) -> Decision:
    boxes = tuple(one if isinstance(one, Emptied) else Emptied(one, one) for one in out)
    item = more.pop("item", ITEM)
    supplies = more.pop("supplies", stock())
    return decide(question(item, *supplies, programmes=(RUN,), out=boxes, **more), policy())


def code(decision: Decision) -> str:
    assert decision.recommended
    return decision.recommended.code


FIRST = code(decided())
SECOND = decided().alternatives[0].code


def test_the_next_that_fits_is_taken_and_the_headline_says_why() -> None:
    decision = decided(f"pouch:{FIRST}")
    assert code(decision) == SECOND
    assert headline(decision) == f"Pouch {FIRST} is out; the next that fits: pouch {SECOND}"


def test_two_empty_boxes_are_both_named() -> None:
    decision = decided(f"pouch:{FIRST}", f"pouch:{SECOND}")
    assert headline(decision).startswith(f"Pouch {FIRST}, {SECOND} are out; the next")


def test_a_larger_one_that_is_out_changes_nothing() -> None:
    decision = decided(f"pouch:{SECOND}")
    assert code(decision) == FIRST and headline(decision) == f"Take pouch {FIRST}"
    assert SECOND not in [one.code for one in decision.alternatives]


def test_nothing_else_serves() -> None:
    only = [one for one in stock() if one.code == FIRST]
    decision = decided(f"pouch:{FIRST}", supplies=only)
    assert decision.outcome is Outcome.NONE
    assert headline(decision) == f"Pouch {FIRST} is out, and nothing else in stock serves it"


def test_an_empty_box_of_another_kind_is_nothing_to_a_pouch() -> None:
    assert decided(f"roll:{FIRST}", f"protector:{FIRST}") == decided()


def test_without_indicators_it_is_undecided() -> None:
    decision = decided(STEAM_BOX)
    assert decision.outcome is Outcome.UNDECIDED
    assert headline(decision) == (
        "Not decided: Indicators for steam: the box is empty (Tam Birkett, 21:40)"
    )
    assert way_out(decision) == "Fetch a box, then press that it is there."


def test_no_other_method_is_taken_for_want_of_indicators() -> None:
    """Steam comes first; that its indicators are out is no reason for ethylene oxide."""
    both = replace(ITEM, cycles=(*STEAM, CycleOption(method=Method.EO)))
    assert decided(item=both).outcome is Outcome.RECOMMENDED
    assert decided(STEAM_BOX, item=both).outcome is Outcome.UNDECIDED


def test_indicators_of_another_method_are_not_asked_for() -> None:
    assert decided("indicator:eo") == decided()


def protector(code: str, name: str = "vented") -> Protector:
    return Protector(code=code, name=name, vented=True, bore_mm=5, length_mm=20, wall_mm=1,
                     material=ProtectorMaterial.SILICONE,
                     methods=frozenset({Method.STEAM}))  # fmt: skip


def test_without_its_protector_it_is_undecided_never_bare() -> None:
    tipped = replace(ITEM, protector="vented")
    there = decided(item=tipped, protectors=(protector("V1"),))
    assert there.outcome is Outcome.RECOMMENDED
    gone = decided("protector:V1", item=tipped, protectors=(protector("V1"),))
    assert gone.outcome is Outcome.UNDECIDED


def test_one_size_that_is_left_will_do() -> None:
    tipped = replace(ITEM, protector="vented")
    both = (protector("V1"), protector("V2"))
    left = protectors_left(both, [Emptied("protector:V1", "V1")])
    assert left == (protector("V2"),)
    assert decided("protector:V1", item=tipped, protectors=left).outcome is Outcome.RECOMMENDED
    gone = [Emptied(f"protector:V{n}", "") for n in (1, 2)]
    assert protectors_left(both, gone) == both
    assert decided(*gone, item=tipped, protectors=both).outcome is Outcome.UNDECIDED


def test_a_doubt_about_size_is_told_beside_the_box() -> None:
    unknown = replace(ITEM, width_mm=None)
    decision = decided(STEAM_BOX, item=unknown)
    assert headline(decision) == "Not decided: something must be known first"


def test_a_set_takes_the_next_wrap_and_waits_for_indicators() -> None:
    line = SetLine(quantity=2, instrument=ITEM)
    asked = SetQuestion(lines=(line,), supplies=(wrap(500), wrap(600)), programmes=(RUN,),
                        pack=ITEM.box)  # fmt: skip
    assert code(decide_set(asked, policy()).decision) == "W500"
    out = replace(asked, out=(Emptied("wrap:W500", "W500"),))
    assert code(decide_set(out, policy()).decision) == "W600"
    waits = replace(asked, out=(STEAM_BOX,))
    assert decide_set(waits, policy()).decision.outcome is Outcome.UNDECIDED


@pytest.mark.parametrize("key", ["pouch", "indicator:steam", "protector:V1"])
def test_what_can_be_said_empty_is_found_empty(key: str) -> None:
    tipped = replace(ITEM, protector="vented")
    asked = question(tipped, *stock(), programmes=(RUN,), protectors=(protector("V1"),))
    taken = decide(asked, policy()).recommended
    assert taken
    [supply] = [one for one in boxes_of(taken, asked) if one.startswith(key)]
    gone = replace(asked, out=(Emptied(supply, supply),))
    assert [one.supply for one in emptied_for(taken, gone)] == [supply]


def test_where_the_next_pouch_gives_way_to_a_roll_it_is_still_said() -> None:
    held = question(instrument(170, 22, 8, 20), pouch("100x300"), pouch("150x300"), roll(75),
                    out=(Emptied("pouch:100x300", "100x300"),))  # fmt: skip
    words = headline(decide(held, today()))
    assert words.startswith("Pouch 100x300 is out; the next that fits: roll "), words
