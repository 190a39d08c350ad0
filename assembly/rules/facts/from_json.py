"""Facts from JSON: the public interface of ``manage.py recommend --facts``.

Strict about values (a wrong type, a number below zero or not finite, a code given twice
stops with :class:`FactsError` naming the place), open about keys: one that is not known
is reported and not considered. A missing or null number is unknown.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, assert_never

from assembly.rules.facts.checks import FactsError
from assembly.rules.facts.cycles import CycleOption, Programme
from assembly.rules.facts.instruments import Box, Instrument
from assembly.rules.facts.question import Question
from assembly.rules.facts.supplies import Container, Pouch, Roll, Supply, Wrap
from catalog.vocabulary import Fold, ItemClass, Kind, Material, Method

LONGER_NAMES = {
    "moist heat": Method.STEAM,
    "ethylene oxide": Method.EO,
    "eto": Method.EO,
    "hydrogen peroxide": Method.H2O2,
    "hydrogen peroxide vapour": Method.H2O2,
    "hydrogen peroxide vapor": Method.H2O2,
    "h2o2 vapour": Method.H2O2,
    "h2o2 vapor": Method.H2O2,
    "vh2o2": Method.H2O2,
    "peroxide": Method.H2O2,
    "formaldehyde": Method.LTSF,
    "low temperature steam formaldehyde": Method.LTSF,
    "low-temperature steam formaldehyde": Method.LTSF,
    "low-temperature steam with formaldehyde": Method.LTSF,
    "low temperature steam and formaldehyde": Method.LTSF,
    "dry heat": Method.DRY_HEAT,
}
IGNORED_KEYS = {"note", "notes", "name", "id"}


@dataclass(frozen=True, slots=True)
class Asked:
    """What a JSON text asks: the question, the policy's overrides, keys not considered."""

    question: Question
    policy: Mapping[str, object]
    not_considered: tuple[str, ...] = ()


@dataclass(slots=True)
class _Table:
    """One JSON object with its place; every key read is ticked off."""

    place: str
    values: Mapping[str, Any]
    strange: list[str]
    known: set[str] = field(default_factory=set)

    def at(self, key: str) -> str:
        return f"{self.place}.{key}" if self.place else key

    def raw(self, key: str) -> Any:
        self.known.add(key)
        return self.values.get(key)

    def number(self, key: str) -> Any:
        """The number as read; the fact itself checks it."""
        return self.raw(key)

    def text(self, key: str, *, default: str | None = None) -> str:
        value = self.raw(key)
        if value is None and default is not None:
            return default
        if not isinstance(value, str) or not value.strip():
            raise FactsError(self.at(key), value, "it must be a text that is not empty")
        return value.strip()

    def yes_no(self, key: str) -> bool | None:
        value = self.raw(key)
        if value is not None and not isinstance(value, bool):
            raise FactsError(self.at(key), value, "it must be true, false or null")
        return value

    def choice(self, key: str, choices: Any, *, needed: bool = False) -> Any:
        value = self.raw(key)
        if value is None and not needed:
            return None
        try:
            return choices(value.strip().casefold() if isinstance(value, str) else value)
        except ValueError:
            words = ", ".join(choices)
            raise FactsError(self.at(key), value, f"it must be one of: {words}") from None

    def method(self, key: str) -> Method:
        value = self.raw(key)
        return read_method(self.at(key), value)

    def rows(self, key: str) -> Sequence[Any] | None:
        value = self.raw(key)
        if value is not None and not isinstance(value, list):
            raise FactsError(self.at(key), value, "it must be a list")
        return value

    def texts(self, key: str) -> tuple[str, ...] | None:
        rows = self.rows(key)
        if rows is None:
            return None
        for n, row in enumerate(rows):
            if not isinstance(row, str):
                raise FactsError(f"{self.at(key)}[{n}]", row, "it must be a text")
        return tuple(rows)

    def table(self, key: str) -> _Table | None:
        value = self.raw(key)
        return None if value is None else as_table(self.at(key), value, self.strange)

    def tables(self, key: str) -> list[_Table] | None:
        rows = self.rows(key)
        if rows is None:
            return None
        return [as_table(f"{self.at(key)}[{n}]", row, self.strange) for n, row in enumerate(rows)]

    def done(self) -> None:
        """Note the keys that nobody asked for."""
        for key in self.values:
            if key not in self.known and key not in IGNORED_KEYS:
                self.strange.append(self.at(key))


def as_table(place: str, value: object, strange: list[str]) -> _Table:
    if not isinstance(value, dict):
        raise FactsError(place or "the file", value, "it must be an object: { ... }")
    return _Table(place, value, strange)


def read_method(place: str, value: object) -> Method:
    """A method by its short name or a longer one; FactsError otherwise.

    >>> read_method("method", "Ethylene oxide")
    <Method.EO: 'eo'>
    """
    if isinstance(value, str):
        word = " ".join(value.casefold().replace("_", "-").split())
        if word in LONGER_NAMES:
            return LONGER_NAMES[word]
        if word.replace(" ", "-") in list(Method):
            return Method(word.replace(" ", "-"))
    raise FactsError(place, value, f"it must be one of: {', '.join(Method)}")


def _refuse_constant(word: str) -> Any:
    raise FactsError("the file", word, "it must be a finite number, or null for unknown")


def _each_key_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    keys = [key for key, _ in pairs]
    for key in keys:
        if keys.count(key) > 1:
            raise FactsError(key, key, "the key stands twice in one object: keep one")
    return dict(pairs)


def read(text: str) -> Asked:
    """The question in a JSON text; FactsError says where and why it cannot be one."""
    try:
        raw = json.loads(text, parse_constant=_refuse_constant, object_pairs_hook=_each_key_once)
    except json.JSONDecodeError as problem:
        raise FactsError(
            "the file", f"line {problem.lineno}", f"it is not JSON: {problem.msg}"
        ) from None
    except RecursionError:
        raise FactsError("the file", "...", "it is nested too deeply") from None
    except FactsError:
        raise
    except ValueError as problem:
        raise FactsError("the file", "...", f"it cannot be read: {problem}") from None
    strange: list[str] = []
    top = as_table("", raw, strange)
    instrument = top.table("instrument")
    if instrument is None:
        raise FactsError("instrument", None, "it is missing: what is to be packed?")
    supplies = top.tables("supplies")
    if supplies is None:
        raise FactsError("supplies", None, "it is missing: give the list of what is in stock")
    programmes, pack, policy = top.tables("programmes"), top.table("pack"), top.table("policy")
    question = _made(
        "",
        Question,
        instrument=_instrument(instrument),
        supplies=tuple(_supply(table) for table in supplies),
        programmes=None if programmes is None else tuple(_programme(row) for row in programmes),
        pack=None if pack is None else _box(pack),
        double=top.yes_no("double") or False,
        fold=top.choice("fold", Fold),
    )
    top.done()
    return Asked(question, dict(policy.values) if policy else {}, tuple(strange))


def _made(place: str, make: Any, **values: Any) -> Any:
    """A fact made of values; its FactsError is given the place it came from."""
    try:
        return make(**values)
    except FactsError as problem:
        where = f"{place}.{problem.field}" if place else problem.field
        raise FactsError(where, problem.value, problem.problem) from None


def _numbers(table: _Table, *keys: str) -> dict[str, Any]:
    return {key: table.number(key) for key in keys}


def _finished(table: _Table, make: Any, **values: Any) -> Any:
    table.done()
    return _made(table.place, make, **values)


def _box(table: _Table) -> Box:
    return _finished(table, Box, **_numbers(table, "length_mm", "width_mm", "height_mm"))


def _instrument(table: _Table) -> Instrument:
    forbids = table.texts("forbids") or ()
    kinds = set()
    for n, word in enumerate(forbids):
        if word not in list(Kind):
            raise FactsError(
                f"{table.at('forbids')}[{n}]", word, f"it must be one of: {', '.join(Kind)}"
            )
        kinds.add(Kind(word))
    return _finished(
        table,
        Instrument,
        name=table.text("name", default="the instrument"),
        sharp=table.yes_no("sharp"),
        protector=_protector(table),
        hinged=table.yes_no("hinged"),
        ratchet=table.yes_no("ratchet"),
        hollow=table.yes_no("hollow"),
        parts=table.yes_no("parts"),
        round_section=table.yes_no("round_section") or False,
        item_class=table.choice("item_class", ItemClass) or ItemClass.INSTRUMENTS,
        forbids=frozenset(kinds),
        cycles=tuple(_cycle(row) for row in table.tables("cycles") or ()),
        **_numbers(
            table,
            "length_mm",
            "width_mm",
            "height_mm",
            "weight_g",
            "lumen_mm",
            "lumen_length_mm",
            "tip_across_mm",
            "tip_cover_mm",
        ),
    )


def _protector(table: _Table) -> str | None:
    """Text describes it; "none" and false say there is none; null says nothing."""
    value = table.raw("protector")
    if value is None or isinstance(value, bool):
        return {None: None, True: "protector on record", False: ""}[value]
    if isinstance(value, str):
        word = value.strip()
        return "" if word.casefold() in ("", "none", "no") else word
    raise FactsError(
        table.at("protector"), value, 'it must be a text such as "vented, small", "none" or null'
    )


def _cycle(table: _Table) -> CycleOption:
    return _finished(
        table,
        CycleOption,
        method=table.method("method"),
        **_numbers(table, "temperature_c", "exposure_min", "exposure_max", "drying_min"),
    )


def _programme(table: _Table) -> Programme:
    return _finished(
        table,
        Programme,
        code=table.text("code"),
        method=table.method("method"),
        **_numbers(table, "temperature_c", "exposure_min", "drying_min"),
    )


def _labelled(table: _Table) -> frozenset[Method] | None:
    words = table.texts("methods")
    if words is None:
        return None
    return frozenset(read_method(f"{table.at('methods')}[{n}]", w) for n, w in enumerate(words))


def _supply(table: _Table) -> Supply:
    kind = table.choice("kind", Kind, needed=True)
    match kind:
        case Kind.POUCH:
            return _pouch(table)
        case Kind.ROLL:
            return _roll(table)
        case Kind.WRAP:
            return _wrap(table)
        case Kind.CONTAINER:
            return _container(table)
        case _:
            assert_never(kind)


def _soft(table: _Table) -> dict[str, Any]:
    """What pouches, rolls and wraps share."""
    return {
        "code": table.text("code"),
        "material": table.choice("material", Material),
        "methods": _labelled(table),
        **_numbers(table, "rated_g", "cost"),
    }


def _pouch(table: _Table) -> Pouch:
    closure = table.raw("closure")
    if closure is not None and not isinstance(closure, str):
        raise FactsError(table.at("closure"), closure, "it must be a text or null")
    gusset = table.number("gusset_mm")
    return _finished(
        table,
        Pouch,
        **_soft(table),
        closure=closure,
        gusset_mm=0.0 if gusset is None else gusset,
        doubles_in=table.texts("doubles_in") or (),
        **_numbers(table, "inner_width_mm", "inner_length_mm", "outer_width_mm", "outer_length_mm"),
    )


def _roll(table: _Table) -> Roll:
    gusset = table.number("gusset_mm")
    return _finished(
        table,
        Roll,
        **_soft(table),
        gusset_mm=0.0 if gusset is None else gusset,
        **_numbers(table, "nominal_width_mm", "side_seal_mm", "longest_cut_mm", "roll_length_mm"),
    )


def _wrap(table: _Table) -> Wrap:
    layers = table.number("layers")
    if isinstance(layers, bool) or not isinstance(layers, int | float | None):
        raise FactsError(table.at("layers"), layers, "a wrap has 1 or 2 layers")
    return _finished(
        table, Wrap, **_soft(table), layers=layers, **_numbers(table, "width_mm", "length_mm")
    )


def _container(table: _Table) -> Container:
    filter_words = table.raw("filter")
    if filter_words is not None and not isinstance(filter_words, str):
        raise FactsError(table.at("filter"), filter_words, "it must be a text or null")
    return _finished(
        table,
        Container,
        code=table.text("code"),
        programmes=table.texts("programmes"),
        filter=filter_words,
        **_numbers(
            table,
            "inner_length_mm",
            "inner_width_mm",
            "inner_height_mm",
            "tare_g",
            "rated_g",
            "cost",
        ),
    )
