"""Closing checks, orientation and loading: which are asked, and what "no" leads to."""

from __future__ import annotations

from datetime import date
from functools import partial
from itertools import product

import pytest

from assembly.rules.facts.instruments import Instrument
from assembly.rules.facts.supplies import Container, Pouch
from assembly.rules.findings import Candidate
from assembly.rules.policy.values import default_policy
from assembly.rules.telling.checks import (
    Packed,
    closed_checks,
    closing_checks,
    loading,
    orientation,
    packed_from,
)
from catalog.vocabulary import Kind, Method

DAY = date(2026, 1, 1)
POLICY = default_policy(DAY)
inside = partial(Instrument, name="clamp")
PLAIN = inside(hinged=False, ratchet=False, sharp=False, protector="", hollow=False, parts=False)
UNKNOWN = inside()
EVERY_PACKAGE = [
    Packed(kind=kind, closure=closure, double=double, gusseted=gusseted)
    for kind, closure, double, gusseted in product(
        Kind, (None, "self-seal", "heat-seal"), (False, True), (False, True)
    )
]


def keys(packed: Packed, handled=PLAIN, policy=POLICY) -> list[str]:
    return [check.key for check in closing_checks(packed, handled, policy)]


def after(packed: Packed) -> list[str]:
    return [check.key for check in closed_checks(packed, POLICY)]


def check(key: str, packed: Packed, handled=PLAIN, policy=POLICY):
    every = (*closing_checks(packed, handled, policy), *closed_checks(packed, policy))
    return next(c for c in every if c.key == key)


SELF_SEAL = Packed(kind=Kind.POUCH, closure="self-seal")
HEAT_SEAL = Packed(kind=Kind.POUCH, closure="heat-seal")
DOUBLE = Packed(kind=Kind.POUCH, closure="heat-seal", double=True)
WRAP = Packed(kind=Kind.WRAP)
CONTAINER = Packed(kind=Kind.CONTAINER)


PIECE = ["clean", "dry", "works"]


@pytest.mark.parametrize(
    ("packed", "before", "closed"),
    [
        (SELF_SEAL, ["indicator", "clearance", "air"], ["seal", "self-seal"]),
        (HEAT_SEAL, ["indicator", "clearance", "air"], ["seal", "seal width"]),
        (
            DOUBLE,
            ["indicator", "clearance", "air", "double: free", "double: facing"],
            ["seal", "seal width"],
        ),
        (WRAP, ["indicator", "sheet"], ["fit", "tape"]),
        (CONTAINER, ["indicator", "filter", "rim", "gasket"], ["lock"]),
    ],
)
def test_checks_of_a_plain_instrument(packed, before, closed):
    assert (keys(packed), after(packed)) == ([*PIECE, *before], closed)


FORCEPS = inside(hinged=True, ratchet=True, sharp=False, protector="", hollow=False, parts=False)
"""Ordinary ring-handled forceps, all of it on record."""


@pytest.mark.parametrize("packed", [SELF_SEAL, HEAT_SEAL], ids=lambda one: one.closure)
def test_ordinary_forceps_are_asked_six_before_and_two_after(packed):
    """As many as stand on one screen: our limit."""
    assert (len(keys(packed, FORCEPS)), len(after(packed))) == (6, 2)


def test_the_checks_come_in_the_order_of_the_hands():
    found = closing_checks(SELF_SEAL, UNKNOWN, POLICY)
    groups = [one.group for one in found]
    assert groups == sorted(groups, key=["piece", "package"].index)
    assert {one.group for one in closed_checks(SELF_SEAL, POLICY)} == {"closed"}


@pytest.mark.parametrize(
    ("key", "then"), [("clean", "cleaning"), ("dry", "Dry it"), ("works", "to repair")]
)
def test_each_no_about_the_piece_has_its_own_remedy(key, then):
    assert then in check(key, SELF_SEAL).then()


@pytest.mark.parametrize(
    ("has", "gone"),
    [({"parts": False}, "parts"), ({"hollow": False}, "lumen"), ({"hinged": False}, "hinged"),
     ({"ratchet": False}, "ratchet"), ({"sharp": False, "protector": ""}, "protector")],
)  # fmt: skip
def test_what_it_is_known_not_to_have_is_not_asked(has, gone):
    known = {"hinged": None, "ratchet": True, "protector": "vented"} | has
    assert gone not in keys(SELF_SEAL, inside(**known))


def test_what_opens_is_asked_with_its_room_in_one_question():
    assert "clearance" not in keys(SELF_SEAL, FORCEPS)
    assert check("hinged", SELF_SEAL, FORCEPS).asked() == (
        "Does it lie open, with room at both sides and 30 mm free to the seal that you make?"
    )


def test_what_may_be_hinged_is_asked_for_its_room_by_itself():
    assert "clearance" in keys(SELF_SEAL, UNKNOWN)


def test_a_ratchet_without_a_hinge_on_record_is_asked_by_itself():
    assert "ratchet" in keys(SELF_SEAL, inside(hinged=None, ratchet=True))


def test_the_indicator_is_named_by_method_and_type():
    """Types: ISO 11140-1:2014."""
    steam = Packed(kind=Kind.POUCH, method=Method.STEAM)
    assert check("indicator", steam).asked().startswith("Is the steam indicator (type 5) inside")


def test_a_gusseted_pouch_asks_about_its_pleats():
    assert "pleats" in after(Packed(kind=Kind.POUCH, gusseted=True))


@pytest.mark.parametrize("key", ["seal", "self-seal"])
def test_a_bad_seal_leads_to_a_new_pouch(key):
    assert check(key, SELF_SEAL).if_no == (
        "Open it and repack with a new pouch: it is for single use and never sealed again."
    )


def test_the_seal_width_and_the_grip_are_the_policys():
    """6 mm: EN 868-5:2009, 4.3.2; 10 mm: DIN 58953-7 as restated."""
    assert check("seal width", HEAT_SEAL).asked() == (
        "Is the seal at least 6 mm wide (ribs add up), with at least 10 mm beyond it to grip?"
    )


def test_an_unknown_closure_is_asked_about_with_if():
    assert check("seal width", Packed(kind=Kind.POUCH)).asked().startswith("If it is heat-sealed")


def test_the_clearance_is_the_policys():
    """30 mm: DGSV packaging-validation guideline 2011, annex A.6."""
    assert "30 mm" in check("clearance", SELF_SEAL).asked()


def test_a_high_thing_keeps_more_than_the_least_free():
    packed = Packed(kind=Kind.POUCH, closing_asked_mm=40)
    assert check("clearance", packed).asked() == (
        "Is there room at both sides, and 40 mm free to the seal that you make?"
    )


@pytest.mark.parametrize(
    ("packed", "then"),
    [
        (Packed(kind=Kind.POUCH, next_size="pouch 150x300"), "take the next size: pouch 150x300."),
        (Packed(kind=Kind.ROLL), "take a larger one."),
    ],
)
def test_what_has_no_room_to_lie_open_takes_the_next_size(packed, then):
    assert check("hinged", packed, inside(hinged=True)).then().endswith(then)


def test_the_tape_is_at_least_five_centimetres():
    """5 cm: PAHO sterilization manual 2009."""
    assert "50 mm" in check("tape", WRAP).asked()


def test_amounts_are_written_in_the_readers_units():
    assert "2 in" in check("tape", WRAP).asked(lambda value, unit: "2 in")


@pytest.mark.parametrize(
    ("key", "fact"),
    [("hinged", {"hinged": True}), ("ratchet", {"ratchet": True, "hinged": False}),
     ("parts", {"parts": True}), ("lumen", {"lumen_mm": 2}), ("lumen", {"lumen_length_mm": 200})],
)  # fmt: skip
def test_what_is_known_is_asked_outright(key, fact):
    question = check(key, SELF_SEAL, inside(**fact)).asked()
    assert question.startswith(("Is ", "Are ", "Does "))


@pytest.mark.parametrize("field", ["hinged", "ratchet", "parts", "lumen", "protector"])
def test_what_is_not_known_is_asked_with_if(field):
    handled = inside(hinged=False) if field == "ratchet" else UNKNOWN
    assert check(field, SELF_SEAL, handled).asked().startswith("If it ")


@pytest.mark.parametrize("sharp", [False, None, True])
def test_a_protector_on_record_is_asked_for_whatever_the_tip(sharp):
    asked = check("protector", SELF_SEAL, inside(sharp=sharp, protector="vented, small")).asked()
    assert asked.startswith("Is it covered by a vented protector (vented, small)")


def test_several_protectors_are_named_in_one_question():
    fine = inside(sharp=False, protector="4 × vented, small: iris scissors", pieces=2)
    assert check("protector", SELF_SEAL, fine).asked() == (
        "Are the tip protectors on (4 × vented, small: iris scissors), vented and not tight?"
    )


def test_a_sharp_instrument_names_its_protector():
    sharp = inside(sharp=True, protector="silicone 4 mm")
    assert check("protector", SELF_SEAL, sharp).asked() == (
        "Is it covered by a vented protector (silicone 4 mm) that is not tight?"
    )


@pytest.mark.parametrize(
    ("word", "says"),
    [("open", "Does it lie open, with"),
     ("first tooth", "Does it lie open, its ratchet on the first tooth at the most, with")],
)  # fmt: skip
def test_the_ratchet_is_a_setting(word, says):
    policy = default_policy(DAY, {"ratchet": word})
    assert check("hinged", SELF_SEAL, FORCEPS, policy).asked().startswith(says)


@pytest.mark.parametrize("packed", EVERY_PACKAGE)
def test_every_check_says_what_to_do_and_where_it_comes_from(packed):
    found = (*closing_checks(packed, UNKNOWN, POLICY), *closed_checks(packed, POLICY))
    assert all(c.word and c.group for c in found)
    assert all(c.asked().endswith("?") and c.then().endswith(".") and c.source for c in found)


@pytest.mark.parametrize("packed", EVERY_PACKAGE)
def test_no_key_is_asked_twice(packed):
    found = keys(packed, UNKNOWN) + after(packed)
    assert len(found) == len(set(found))


# --- orientation and loading --------------------------------------------------------------


def lies(packed: Packed, handled=PLAIN, policy=POLICY) -> list[str]:
    return [caution.sentence() for caution in orientation(packed, handled, policy)]


PEEL = (
    "Handles point to the chevron, at the peel end that its maker sealed; tips to the fill end, "
    "which you close."
)


def test_a_plain_instrument_in_a_pouch():
    assert lies(SELF_SEAL) == [PEEL]


def test_a_roll_is_closed_at_both_ends():
    assert lies(Packed(kind=Kind.ROLL)) == [
        "Handles to the peel end, where the chevron of the print points; tips to the other. "
        "A roll is closed at both ends."
    ]


def test_in_a_container_the_heavy_lie_at_the_bottom():
    assert lies(CONTAINER) == ["Heavy items at the bottom and spread out, light ones above."]


def test_a_protector_settles_which_way_tips_point():
    found = lies(SELF_SEAL, inside(sharp=True, protector="silicone 4 mm"))
    assert found[1] == "Tips covered (silicone 4 mm): they may point either way."


@pytest.mark.parametrize("word", ["towards the film", "clear of the film"])
def test_unprotected_tips_are_a_setting(word):
    policy = default_policy(DAY, {"tips_in_pouch": word})
    assert lies(SELF_SEAL, inside(sharp=True, protector=""), policy)[1] == f"Tips {word}."


def test_unknown_tips_are_named_with_if():
    assert lies(SELF_SEAL, UNKNOWN)[1] == "Tips, if it has any, towards the film."


def test_hinged_lies_open():
    assert "Hinged: lay it open." in lies(WRAP, inside(hinged=True))


def test_hollow_drains():
    found = lies(WRAP, inside(hollow=True))
    assert "Hollow: lay it so that it drains, opening down or tilted." in found


@pytest.mark.parametrize(
    ("word", "says"),
    [
        ("paper to film",
         "All the same way round: the paper of each toward the film of the next."),
        ("film to film", "In pairs, film toward film and paper toward paper."),
    ],
)  # fmt: skip
def test_facing_in_the_chamber_is_a_setting(word, says):
    policy = default_policy(DAY, {"facing_in_chamber": word})
    assert loading(SELF_SEAL, policy)[1].sentence() == says


def test_facing_names_both_sources():
    source = loading(SELF_SEAL, POLICY)[1].source
    assert "US teaching" in source and "PAHO" in source


@pytest.mark.parametrize("kind", list(Kind))
def test_every_loading_note_names_its_source(kind):
    assert all(note.source for note in loading(Packed(kind=kind), POLICY))


# --- from facts ---------------------------------------------------------------------------


def test_what_a_double_gusseted_candidate_is():
    pouch = Pouch(code="G", gusset_mm=25, closure="heat-seal")
    candidate = Candidate(kind="pouch", code="G", findings=(), order=(), with_codes=("P08",))
    assert packed_from(candidate, pouch) == Packed(
        kind=Kind.POUCH,
        closure="heat-seal",
        double=True,
        gusseted=True,
    )


def test_what_a_container_candidate_is():
    candidate = Candidate(kind="container", code="K", findings=(), order=())
    assert packed_from(candidate, Container(code="K")) == Packed(kind=Kind.CONTAINER)


def test_a_lumen_on_record_is_one_whatever_else_is():
    asked = check("lumen", SELF_SEAL, inside(hollow=False, lumen_mm=2)).asked()
    assert asked.startswith("Is the lumen free")
