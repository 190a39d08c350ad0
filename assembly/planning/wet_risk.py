"""How much water condenses on each set: the figures of all from the database, of one by name.

Both are the arithmetic of :mod:`assembly.rules.computing.condensate`; a test holds them equal.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

from django.db.models import (
    Case,
    Count,
    ExpressionWrapper,
    F,
    FloatField,
    Max,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Sum,
    Value,
    When,
)
from django.db.models.functions import Cast, Coalesce, NullIf

from assembly.judging.decisions import decide_for_set
from assembly.judging.facts_from_catalog import lines_of, policy_in_force
from assembly.models import LoadedPackage
from assembly.rules.computing.condensate import (
    METALS,
    MM2_IN_CM2,
    SOURCE,
    TAKEN_AS,
    Mass,
    Wetting,
    water_per_g,
    wetting,
)
from assembly.rules.computing.drying import Advice, Holder, Longer, advice, longer_drying
from assembly.rules.findings import Show, metric
from assembly.rules.policy.values import Policy
from catalog.models import Basket, Container, CountSheet, InstrumentSet, Line
from catalog.vocabulary import MadeOf, Method

HOLDS = ("container", "basket")


def temperatures(policy: Policy) -> tuple[float, float]:
    """From how warm to how hot (°C) every set is taken to be warmed."""
    return policy.number("wet_from_c"), policy.number("wet_to_c")


def taken_words(policy: Policy) -> str:
    """What the figures rest on, in a sentence."""
    low, high = temperatures(policy)
    words = f"Warmed from {low:g} to {high:g} °C, instruments taken to be {TAKEN_AS.words}"
    return f"{words}: {SOURCE}; these temperatures and the steel are common practice, no source."


# --- all sets ---


def with_figures() -> QuerySet[InstrumentSet]:
    """Sets in use, with ``mass_g`` (of metal), ``per_cm2``, ``water_g``, ``heaviest_g``, how many
    facts are ``not_known``, and how often packages of it were named ``wet``; most water first."""
    lines = Line.objects.filter(
        count_sheet__instrument_set=OuterRef("pk"), count_sheet__state=CountSheet.State.CURRENT
    ).order_by().values("count_sheet")  # fmt: skip
    weight = Cast("instrument__weight_g", FloatField())
    named = LoadedPackage.objects.filter(package__build__instrument_set=OuterRef("pk"))
    wet = named.exclude(wet_because="").order_by().values("package__build__instrument_set")
    low, high = temperatures(policy_in_force())
    found = InstrumentSet.objects.filter(retired=False).annotate(
        pieces_g=_of(lines.annotate(n=Sum(F("quantity") * weight)), 0.0),
        heaviest_g=Subquery(lines.annotate(n=Max(weight)).values("n")),
        unweighed=_of(lines.filter(instrument__weight_g=None).annotate(n=Count("pk")), 0),
        wet=_of(wet.annotate(n=Count("pk")), 0),
        area_cm2=_area(),
    )
    masses = {name: _tare(name) for name in HOLDS}
    metal = _sum(_when(f"{name}__made_of", dict.fromkeys(METALS, masses[name]), Value(0.0))
                 for name in HOLDS)  # fmt: skip
    water = _sum(masses[name] * _when(
        f"{name}__made_of", {one: Value(water_per_g(one, low, high)) for one in MadeOf},
        Value(water_per_g(None, low, high)),
    ) for name in HOLDS)  # fmt: skip
    each = water_per_g(TAKEN_AS, low, high)
    found = found.annotate(
        mass_g=_float(F("pieces_g") + metal),
        water_g=_float(F("pieces_g") * each + water),
        not_known=F("unweighed") + _sum(_open(name) for name in HOLDS),
    ).annotate(per_cm2=_float(F("mass_g") / NullIf(F("area_cm2"), Value(0.0))))
    return found.order_by("-water_g", "code")


def _of(rows: Any, without: float) -> Any:
    """The one number that is counted under ``n``, or this where there is none."""
    return Coalesce(Subquery(rows.values("n")), Value(without))


def _float(what: Any) -> ExpressionWrapper:
    return ExpressionWrapper(what, output_field=FloatField())


def _sum(parts: Any) -> Any:
    first, *others = parts
    for one in others:
        first = first + one
    return first


def _when(name: str, values: dict[MadeOf, Any], otherwise: Any) -> Case:
    whens = [When(**{name: str(one)}, then=then) for one, then in values.items()]
    return Case(*whens, default=otherwise, output_field=FloatField())


def _tare(name: str) -> Any:
    return Coalesce(Cast(f"{name}__tare_g", FloatField()), Value(0.0))


def _area() -> Any:
    """The floor of the basket (cm²), of the container where there is no basket on record."""
    sides = [Cast(f"{name}__inner_{side}_mm", FloatField())
             for name in ("basket", "container") for side in ("length", "width")]  # fmt: skip
    basket, box = _float(sides[0] * sides[1]), _float(sides[2] * sides[3])
    return _float(Case(When(basket=None, then=box), default=basket) / float(MM2_IN_CM2))


def _open(name: str) -> Case:
    """How many of what it weighs and is made of are not on record of what there is."""
    there = Q(**{f"{name}__isnull": False})
    return Case(
        When(there & Q(**{f"{name}__tare_g": None, f"{name}__made_of": ""}), then=2),
        When(there & (Q(**{f"{name}__tare_g": None}) | Q(**{f"{name}__made_of": ""})), then=1),
        default=0,
    )


# --- one set ---


@dataclass(frozen=True)
class SetRisk:
    """How wet one set starts to dry, and what helps."""

    of: InstrumentSet
    lines: tuple[Line, ...]
    policy: Policy
    show: Show = metric

    @property
    def holders(self) -> list[Container | Basket]:
        """Its container and its basket, as far as they are on record."""
        return [one for one in (self.of.container, self.of.basket) if one]

    @cached_property
    def wetting(self) -> Wetting:
        low, high = temperatures(self.policy)
        pieces = [Mass(line.instrument.name, _number(line.instrument.weight_g),
                       quantity=line.quantity) for line in self.lines]  # fmt: skip
        around = [Mass(one.code, _number(one.tare_g), MadeOf(one.made_of) if one.made_of else None,
                       holds=True) for one in self.holders]  # fmt: skip
        return wetting([*pieces, *around], self._area, low, high)

    @property
    def _area(self) -> float | None:
        tray = self.of.basket or self.of.container
        length, width = (_number(getattr(tray, f"inner_{side}_mm", None))
                         for side in ("length", "width"))  # fmt: skip
        return length * width if length and width else None

    @property
    def unknown(self) -> list[str]:
        """What is not on record and makes the figures "at least", in sentences."""
        said = []
        if names := self.wetting.unweighed:
            said.append(f"Not weighed: {', '.join(names)}.")
        if names := self.wetting.of_unknown:
            said.append(f"What it is made of is not on record: {', '.join(names)}.")
        if self.wetting.area_mm2 is None:
            said.append("The size of its tray is not on record.")
        return said

    @cached_property
    def advice(self) -> list[Advice]:
        """What helps it to dry: one decision for the set, one more for each longer cycle."""
        holders = [Holder(one.code, one.liner, one.ifu_reference) for one in self.holders]
        return advice(self.wetting, holders, self._longer(), self.show)

    def _longer(self) -> Longer | str:
        """What dries longer; or in words why that cannot be asked."""
        answer = decide_for_set(self.of, self.lines, out=())
        taken = answer.decision.recommended
        if taken is None:
            return "Nothing is recommended for the set as it is"
        runs = {one.code: one for one in answer.question.programmes or ()}
        programme = runs.get(str(taken.details.get("programme")))
        if programme is None:
            return "What the department's sterilizers run is not on record"
        if programme.method is not Method.STEAM:
            return f"It goes by {programme.method.words}, where no steam condenses"
        return longer_drying(answer.question, taken.code, programme, self.policy)

    @property
    def water(self) -> str:
        """The water that condenses, as it is read."""
        return self._amount(self.wetting.condensate_g)

    @property
    def metal(self) -> list[tuple[str, str]]:
        """How much metal, in one tray, on each cm² of it and in one piece."""
        found, one = self.wetting, self.wetting.heaviest
        per = found.metal_per_cm2
        return [
            ("Metal in its tray", self._amount(found.metal_g)),
            ("On each cm² of the tray", "not known" if per is None else f"{per:.1f} g"),
            ("Heaviest piece", f"{one.name}, {self.show(one.weight_g or 0.0, 'g')}" if one
             else "not known"),
        ]  # fmt: skip

    def _amount(self, grams: float) -> str:
        """An amount of the whole set, to the gram: more would be more than a heat balance knows."""
        least = "at least " if self.wetting.at_least else ""
        return f"{least}{self.show(round(grams), 'g')}"

    def as_json(self) -> dict[str, Any]:
        """For a program: g, mm², °C; null where it is not on record."""
        found = self.wetting
        low, high = temperatures(self.policy)
        heaviest = found.heaviest
        return {
            "set": self.of.code, "name": self.of.name, "from_c": low, "to_c": high,
            "metal_g": found.metal_g, "tray_mm2": found.area_mm2,
            "metal_g_per_cm2": found.metal_per_cm2, "condensate_g": found.condensate_g,
            "at_least": found.at_least, "not_weighed": list(found.unweighed),
            "made_of_not_on_record": list(found.of_unknown),
            "heaviest_piece": heaviest and {"name": heaviest.name, "g": heaviest.weight_g},
            "advice": [{"words": one.words, "source": one.source} for one in self.advice],
            "limit": None,
        }  # fmt: skip


def risk_of(one: InstrumentSet, show: Show = metric) -> SetRisk | None:
    """A set's; None while no count sheet of it is in force."""
    sheet = one.current
    return SetRisk(one, tuple(lines_of(sheet)), policy_in_force(), show) if sheet else None


def _number(value: Any) -> float | None:
    return None if value is None else float(value)
