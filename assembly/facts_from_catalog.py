"""The only bridge from the catalog's rows to the facts that the rules are told.

Constant in queries: the stock and the programmes are read whole, related rows prefetched.
"""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from django.utils import timezone

from assembly.packing import facts
from assembly.packing.policy import Policy, default_policy
from assembly.packing.weights import Piece
from catalog import models


def number(value: Decimal | None) -> float | None:
    """A column's decimal as the rules compute with it; NULL stays unknown."""
    return None if value is None else float(value)


def policy_in_force() -> Policy:
    """The department's policy today."""
    return default_policy(timezone.localdate())


def instrument_facts(instrument: models.Instrument) -> facts.Instrument:
    """One instrument's facts; reads its prefetched cycles."""
    return facts.Instrument(
        name=instrument.name,
        length_mm=number(instrument.length_mm),
        width_mm=number(instrument.width_mm),
        height_mm=number(instrument.height_mm),
        weight_g=number(instrument.weight_g),
        sharp=None if not instrument.tip else instrument.tip == models.Instrument.Tip.SHARP,
        protector=instrument.protector,
        hinged=instrument.hinged,
        round_section=instrument.round_section,
        lumen_mm=number(instrument.lumen_mm),
        lumen_length_mm=number(instrument.lumen_length_mm),
        forbids=frozenset(facts.Kind(kind) for kind in instrument.forbids),
        cycles=tuple(_cycle(cycle) for cycle in instrument.cycles.all()),
    )


def _cycle(cycle: models.CycleOption) -> facts.CycleOption:
    return facts.CycleOption(
        method=facts.Method(cycle.method),
        temperature_c=number(cycle.temperature_c),
        exposure_min=number(cycle.exposure_min),
        exposure_max=number(cycle.exposure_max),
        drying_min=number(cycle.drying_min),
    )


def programmes() -> tuple[facts.Programme, ...] | None:
    """The programmes the department runs; None where it has entered none."""
    rows = models.Programme.objects.filter(active=True)
    return (
        tuple(
            facts.Programme(
                code=row.code,
                method=facts.Method(row.method),
                temperature_c=number(row.temperature_c),
                exposure_min=number(row.exposure_min),
                drying_min=number(row.drying_min),
            )
            for row in rows
        )
        or None
    )


def stock() -> tuple[facts.Supply, ...]:
    """Every supply in stock that an instrument can be packed in."""
    return (
        *(_pouch(row) for row in models.Pouch.objects.filter(in_stock=True)
          .prefetch_related("doubles_in")),
        *(_roll(row) for row in models.Roll.objects.filter(in_stock=True)),
        *(_wrap(row) for row in models.Wrap.objects.filter(in_stock=True)),
        *(container_facts(row) for row in models.Container.objects.filter(in_stock=True)
          .prefetch_related("programmes")),
    )  # fmt: skip


def _methods(labelled: list[str] | None) -> frozenset[facts.Method] | None:
    return None if labelled is None else frozenset(facts.Method(name) for name in labelled)


def _material(value: str) -> facts.Material | None:
    return facts.Material(value) if value else None


def _pouch(row: models.Pouch) -> facts.Pouch:
    return facts.Pouch(
        code=row.code,
        inner_width_mm=number(row.inner_width_mm),
        inner_length_mm=number(row.inner_length_mm),
        outer_width_mm=number(row.outer_width_mm),
        outer_length_mm=number(row.outer_length_mm),
        gusset_mm=float(row.gusset_mm),
        material=_material(row.material),
        closure=row.closure or None,
        rated_g=number(row.rated_g),
        cost=number(row.cost),
        doubles_in=tuple(outer.code for outer in row.doubles_in.all()),
        methods=_methods(row.labelled_methods),
    )


def _roll(row: models.Roll) -> facts.Roll:
    return facts.Roll(
        code=row.code,
        nominal_width_mm=number(row.nominal_width_mm),
        side_seal_mm=number(row.side_seal_mm),
        material=_material(row.material),
        rated_g=number(row.rated_g),
        longest_cut_mm=number(row.longest_cut_mm),
        roll_length_mm=number(row.roll_length_mm),
        cost=number(row.cost),
        methods=_methods(row.labelled_methods),
    )


def _wrap(row: models.Wrap) -> facts.Wrap:
    return facts.Wrap(
        code=row.code,
        width_mm=number(row.width_mm),
        length_mm=number(row.length_mm),
        material=_material(row.material),
        rated_g=number(row.rated_g),
        layers=row.layers,
        cost=number(row.cost),
        methods=_methods(row.labelled_methods),
    )


def container_facts(row: models.Container) -> facts.Container:
    """One container; reads its prefetched programmes."""
    return facts.Container(
        code=row.code,
        inner_length_mm=number(row.inner_length_mm),
        inner_width_mm=number(row.inner_width_mm),
        inner_height_mm=number(row.inner_height_mm),
        tare_g=number(row.tare_g),
        rated_g=number(row.rated_g),
        programmes=tuple(programme.code for programme in row.programmes.all()),
        filter=row.filter or None,
        cost=number(row.cost),
    )


def question_for(
    instrument: models.Instrument, *, double: bool = False, fold: facts.Fold | None = None
) -> facts.Question:
    """The question about one instrument with all that the department stocks and runs."""
    return facts.Question(
        instrument=instrument_facts(instrument),
        supplies=stock(),
        programmes=programmes(),
        double=double,
        fold=fold,
    )


def pieces_of(lines: Iterable[models.Line]) -> tuple[Piece, ...]:
    """The lines of a count sheet as pieces to weigh; reads each line's instrument."""
    return tuple(
        Piece(
            name=line.instrument.name,
            quantity=line.quantity,
            weight_g=number(line.instrument.weight_g),
        )
        for line in lines
    )


def packaging_pieces(instrument_set: models.InstrumentSet) -> tuple[Piece, ...]:
    """What a set is packed in, as pieces to weigh; a packaging not on record is unknown."""
    parts = [part for part in (instrument_set.container, instrument_set.basket) if part]
    pieces = [Piece(name=part.name, quantity=1, weight_g=number(part.tare_g)) for part in parts]
    if not parts and instrument_set.wrap is None:
        words = instrument_set.packed_in or "packaging not on record"
        pieces.append(Piece(name=words, quantity=1))
    return tuple(pieces)
