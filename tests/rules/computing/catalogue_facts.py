"""Random and boundary facts for the whole-catalog evaluation, the same for the same seed."""

from __future__ import annotations

from random import Random

from assembly.rules.facts.cycles import CycleOption, Programme
from assembly.rules.facts.instruments import Instrument
from assembly.rules.facts.supplies import Pouch
from catalog.vocabulary import Form, Kind, Material, Method
from tests.rules.given import steam_run

STEAM, EO, H2O2 = Method.STEAM, Method.EO, Method.H2O2
SIZES = [(50, 150), (75, 150), (75, 200), (100, 200), (100, 300), (150, 250), (150, 300),
         (150, 400), (200, 300), (200, 400), (250, 400), (300, 450), (380, 550)]  # fmt: skip
CYCLES = [
    (),
    (CycleOption(method=STEAM, temperature_c=134, exposure_min=3, exposure_max=18),),
    (CycleOption(method=STEAM, temperature_c=134, exposure_min=4),),
    (CycleOption(method=STEAM, temperature_c=121, exposure_min=20, exposure_max=60),),
    (CycleOption(method=STEAM, exposure_min=4, exposure_max=18),),
    (CycleOption(method=STEAM, temperature_c=134),),
    (CycleOption(method=H2O2, cycle_name="Short"),),
    (
        CycleOption(method=H2O2, cycle_name="Short"),
        CycleOption(method=STEAM, temperature_c=134, exposure_min=3, exposure_max=18),
    ),
    (CycleOption(method=EO, temperature_c=55, exposure_min=60, drying_min=480),),
]
PROGRAMMES = (
    steam_run("P134", exposure_min=4),
    steam_run("P121", temperature_c=121, exposure_min=30, drying_min=30),
    Programme(code="VH", method=H2O2, cycle_name="Short"),
)
LABELS = [None, frozenset(), frozenset({STEAM, EO}), frozenset({H2O2})]


def _maybe(random: Random, value: float | None, unknown: float) -> float | None:
    return None if random.random() < unknown else value


def pouches(random: Random, number: int, unknown: float = 0.03) -> list[Pouch]:
    """A stock of pouches, some gusseted, some with a size or rating that is not known."""
    found = []
    for n in range(number):
        width, length = random.choice(SIZES)
        length += 5 * random.randint(0, 10)
        found.append(
            Pouch(
                code=f"P{n:02}",
                inner_width_mm=_maybe(random, width - 16, unknown),
                inner_length_mm=_maybe(random, length - 45, unknown),
                outer_width_mm=_maybe(random, width, unknown),
                outer_length_mm=length,
                gusset_mm=random.choice([0, 0, 0, 25]),
                material=random.choice([Material.PAPER_FILM, Material.POLYOLEFIN_FILM, None]),
                rated_g=_maybe(random, random.choice([110, 250, 400, 800, 1200]), unknown),
                cost=random.choice([None, 0.1, 0.2]),
                methods=random.choice(LABELS),
            )
        )
    return found


def instrument(random: Random, stock: list[Pouch], unknown: float = 0.1) -> Instrument:
    """An instrument of chance sizes or, half the time, one that just fits, or just does not."""
    length = round(random.uniform(20, 500), 1)
    width = round(random.uniform(2, 150), 1)
    height = round(random.uniform(1, 60), 1)
    weight = round(random.uniform(5, 1300), 1)
    pouch = random.choice(stock)
    if random.random() < 0.5 and pouch.opened_width_mm and pouch.inner_length_mm:
        slip = random.choice([0, 0.01, -0.01, 0.02, -0.02, 0.005])
        width = max(0.5, pouch.opened_width_mm - 50 - height + slip)
        length = max(0.5, pouch.inner_length_mm - 55 - height + slip)
        weight = (pouch.rated_g or 100) + random.choice([0, 0.05, 0.06, -0.05])
    round_ = random.random() < 0.15
    if round_ and random.random() < 0.5:
        length = width = height
    return Instrument(
        name="item",
        length_mm=_maybe(random, length, unknown),
        width_mm=_maybe(random, width, unknown),
        height_mm=_maybe(random, height, unknown),
        weight_g=_maybe(random, weight, unknown),
        sharp=random.choice([None, False, False, True]),
        protector=random.choice([None, "", "silicone 4 mm"]),
        round_section=round_,
        forbids=random.choice(
            [frozenset(), frozenset(), frozenset({Kind.WRAP}), frozenset({Kind.POUCH})]
        ),
        cycles=random.choice(CYCLES),
        hinged=random.choice([None, False, True]),
        form=random.choice([None, None, *Form]),
        width_open_mm=random.choice([None, None, round(width * 1.2, 1)]),
        lies_only_as_given=random.choice([None, None, False, True]),
        hollow=random.choice([None, None, True]),
        pieces=random.choice([1, 1, 2, 3]) if width > 25 else 1,
    )
