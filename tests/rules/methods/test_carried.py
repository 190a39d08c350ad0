"""What a closed package carries: it goes where everything in it and around it goes."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from assembly.rules.deciding.carried import (
    Carried,
    as_json,
    carried_in,
    cycle_words,
    findings_for,
    from_json,
    may_serve,
    not_labelled,
)
from assembly.rules.deciding.choose import decide
from assembly.rules.facts.cycles import CycleOption, Programme
from assembly.rules.facts.instruments import Instrument
from assembly.rules.facts.supplies import Container, Pouch, Protector
from assembly.rules.findings import Status
from assembly.rules.methods.accepting import Says
from assembly.rules.methods.cycle_options import members_from
from assembly.rules.methods.materials import Answer, ask
from assembly.rules.methods.offers import programme_answer
from catalog.vocabulary import AirRemoval, Filter, Material, Method, ProtectorMaterial
from tests.rules.given import instrument as an_instrument
from tests.rules.given import policy, pouch, question, steam_run

MINUTES = st.sampled_from([3, 4, 18, 30])
METHODS = st.sampled_from([Method.STEAM, Method.EO, Method.H2O2])
OPTIONS = st.builds(
    CycleOption,
    method=METHODS,
    temperature_c=st.sampled_from([None, 121, 132, 134]),
    air_removal=st.sampled_from([None, *AirRemoval]),
    exposure_min=st.none() | MINUTES,
    drying_min=st.none() | MINUTES,
    cycle_name=st.sampled_from(["", "P1"]),
)
INSTRUMENTS = st.builds(
    Instrument, name=st.just("forceps"), cycles=st.lists(OPTIONS, max_size=2).map(tuple)
)
PROGRAMMES = st.builds(
    Programme,
    code=st.sampled_from(["A", "B"]),
    method=METHODS,
    temperature_c=st.sampled_from([None, 121, 132, 134]),
    air_removal=st.sampled_from([None, AirRemoval.GRAVITY, AirRemoval.DYNAMIC]),
    exposure_min=st.none() | MINUTES,
    drying_min=st.none() | MINUTES,
    cycle_name=st.sampled_from(["", "P1"]),
)
POUCHES = st.builds(
    Pouch,
    code=st.just("P"),
    material=st.none() | st.sampled_from(Material),
    methods=st.none() | st.frozensets(METHODS),
)
CONTAINERS = st.builds(
    Container,
    code=st.just("C"),
    programmes=st.none() | st.lists(st.sampled_from(["A", "B"])).map(tuple),
    filter_material=st.none() | st.sampled_from(Filter),
)
CARRIED = st.builds(
    Carried,
    inside=st.lists(INSTRUMENTS, max_size=3).map(tuple),
    around=st.tuples(POUCHES | CONTAINERS),
    indicators=st.none() | METHODS,
    gross_g=st.none() | st.sampled_from([1.5, 4000.0]),
    not_weighed=st.sampled_from([(), ("P",)]),
)


def goes_through(supply: object, programme: Programme) -> bool:
    """Worked out by itself: the table for sheets; the validated list and the filter for boxes."""
    if isinstance(supply, Container):
        dry = supply.filter_material not in (None, Filter.PAPER, Filter.TEXTILE)
        filtered = programme.method is not Method.H2O2 or dry
        return programme.code in (supply.programmes or ()) and filtered
    assert isinstance(supply, Pouch)
    if supply.material is None:
        return False
    answer = ask(supply.material, programme.method, programme.temperature_c, supply.methods)
    return answer.answer is Answer.YES


@given(carried=CARRIED, programme=PROGRAMMES)
def test_it_accepts_what_all_inside_accept_and_all_around_goes_through(
    carried: Carried, programme: Programme
) -> None:
    inside = [
        programme_answer(one, programme, policy()).says is Says.YES
        for one in members_from(carried.inside, policy())
    ]
    indicated = carried.indicators in (None, programme.method)
    around = all(goes_through(one, programme) for one in carried.around)
    accepted = bool(inside) and all(inside) and around and indicated
    published = [f for f in findings_for(carried, programme, policy())
                 if f.rule == "published minimum"]  # fmt: skip
    assert may_serve(carried, programme, policy()) == (accepted and not published)


@given(carried=CARRIED, programme=PROGRAMMES)
def test_from_its_record_it_says_the_same(carried: Carried, programme: Programme) -> None:
    again = from_json(as_json(carried))
    assert findings_for(again, programme, policy()) == findings_for(carried, programme, policy())
    assert (again.gross_g, again.not_weighed) == (carried.gross_g, carried.not_weighed)


RUN_3, RUN_4 = steam_run("S134-3"), steam_run("S134-4", exposure_min=4)
RANGE = CycleOption(method=Method.STEAM, temperature_c=134, exposure_min=3, exposure_max=18)
HF_1042 = an_instrument(140, 68, 11, cycles=(RANGE,))


def packed(instrument: Instrument = HF_1042, **more: object) -> Carried:
    """What the recommended package carries when 134 °C, 3 min is run alone."""
    asked = question(instrument, pouch("P04"), programmes=(RUN_3,), **more)
    taken = decide(asked, policy()).recommended
    assert taken is not None
    return carried_in(asked, taken)


def test_packed_for_3_min_a_cycle_of_4_serves_too() -> None:
    assert may_serve(packed(), RUN_4, policy())


def test_indicators_are_for_the_method_they_were_put_in_for() -> None:
    both = replace(HF_1042, cycles=(*HF_1042.cycles, CycleOption(
        method=Method.EO, temperature_c=55, exposure_min=60)))  # fmt: skip
    run = Programme(code="EO", method=Method.EO, temperature_c=55, exposure_min=60)
    against = [one.rule for one in findings_for(packed(both), run, policy())
               if one.status is Status.NOT_MET]  # fmt: skip
    assert against == ["indicator"]


def test_its_protector_is_asked_of_the_other_method() -> None:
    cap = Protector(code="T", name="cap", vented=True, methods=frozenset({Method.STEAM}),
                    material=ProtectorMaterial.SILICONE)  # fmt: skip
    carried = replace(packed(replace(HF_1042, protector="cap"), protectors=(cap,)), indicators=None)
    run = Programme(code="EO", method=Method.EO, temperature_c=55, exposure_min=60)
    found = {one.rule: one.status for one in findings_for(carried, run, policy())}
    assert found["protector"] is Status.NOT_MET


def test_a_lumen_goes_only_where_the_sterilizer_claims_it() -> None:
    tube = Instrument(name="tube", lumen_mm=2, lumen_length_mm=200, channels=1, cycles=(
        CycleOption(method=Method.H2O2, cycle_name="P1", exposure_min=28),))  # fmt: skip
    carried = from_json(as_json(Carried(inside=(tube,), around=())))
    run = Programme(code="VP", method=Method.H2O2, cycle_name="P1", exposure_min=28)
    found = {one.rule: one.status for one in findings_for(carried, run, policy())}
    assert found["lumens"] is Status.CANNOT_TELL


class TestWhatNoReasonLifts:
    """An override never reaches past the IFUs' methods and the labels of the packaging."""

    def test_a_minute_can_be_accepted(self) -> None:
        assert not_labelled(packed(), steam_run("S134-30", exposure_min=30), policy()) == ""

    def test_a_method_that_an_ifu_does_not_name_cannot(self) -> None:
        run = Programme(code="VP", method=Method.H2O2, cycle_name="P1")
        assert "hydrogen peroxide" in not_labelled(packed(), run, policy())

    def test_a_container_not_validated_cannot(self) -> None:
        box = Container(code="RC", programmes=("S134-3",))
        carried = Carried(inside=(HF_1042,), around=(box,))
        assert "RC for S134-3, not for S134-4" in not_labelled(carried, RUN_4, policy())

    def test_a_label_that_nobody_knows_cannot(self) -> None:
        carried = Carried(inside=(HF_1042,), around=(Pouch(code="P"),))
        assert "material is not on record" in not_labelled(carried, RUN_3, policy())


def test_several_programmes_are_said_by_method_and_temperature() -> None:
    assert cycle_words([RUN_3, RUN_4]) == "dynamic air removal steam 134 °C"


def test_its_gross_weight_goes_with_it_and_what_is_not_in_it():
    asked = question(an_instrument(100, 20, 5, 60), pouch("P04"))
    taken = decide(asked, policy()).recommended
    assert taken is not None
    carried = carried_in(asked, taken)
    assert (carried.gross_g, carried.not_weighed) == (60, ("P04",))


def test_cycles_whose_temperature_is_not_known_are_told_by_their_names() -> None:
    some = [Programme(code="A", method=Method.EO), Programme(code="B", method=Method.EO,
                                                             cycle_name="warm")]  # fmt: skip
    assert cycle_words(some) == f"{Method.EO.words}, cycle A or warm"
