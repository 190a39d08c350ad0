"""Which material goes through which method: data, asked, never coded.

The table is ``data/materials.toml``. Three answers: yes, no, and *if labelled*: only
where the maker's label says so, which without that label nobody can tell.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from functools import cache, lru_cache
from pathlib import Path

from assembly.rules.facts.checks import check_numbers
from assembly.rules.findings import Finding, Rule
from assembly.rules.methods.routes import Route, Routes
from assembly.rules.policy.rows import DATA, read_rows
from catalog.vocabulary import Material, Method

RULE = Rule("method", "the packaging maker's IFU")


class Answer(StrEnum):
    """Whether a material goes through a method."""

    YES = "yes"
    NO = "no"
    IF_LABELLED = "if labelled"
    NOT_KNOWN = "not known"


@dataclass(frozen=True, slots=True)
class Row:
    """One answer of the table, with its temperature class where the method has one."""

    material: Material
    method: Method
    answer: Answer
    source: str
    confidence: str
    because: str = ""
    from_c: float | None = None
    to_c: float | None = None

    def __post_init__(self) -> None:
        check_numbers(self)

    def covers(self, temperature: float) -> bool:
        """Whether ``temperature`` (°C) lies in this row's class, ends included."""
        if self.from_c is None or self.to_c is None:
            return True
        return self.from_c <= temperature <= self.to_c


def load(path: Path) -> tuple[Row, ...]:
    """The rows in ``path``; DataError on the first thing that is wrong."""
    return read_rows(path, Row, lambda row: (row.material, row.method, row.from_c))


@cache
def table() -> tuple[Row, ...]:
    """The shipped table, read once."""
    return load(DATA / "materials.toml")


@dataclass(frozen=True, slots=True)
class Verdict:
    """The answer for one material and one route, with its reason and source."""

    answer: Answer
    because: str
    source: str


@lru_cache(maxsize=1024)
def ask(
    material: Material,
    method: Method,
    temperature: float | None,
    labelled: frozenset[Method] | None = None,
) -> Verdict:
    """Whether ``material`` goes through ``method`` at ``temperature`` (°C, None unknown).

    ``labelled`` is what the supply's own label states: it turns *if labelled* into yes or
    no and rules out a method it does not name, but never overrules a *no* of the table.

    >>> ask(Material.PAPER_FILM, Method.H2O2, None).answer
    <Answer.NO: 'no'>
    >>> ask(Material.POLYOLEFIN_FILM, Method.STEAM, 134).answer
    <Answer.NO: 'no'>
    >>> ask(Material.POLYOLEFIN_FILM, Method.STEAM, 121).answer
    <Answer.IF_LABELLED: 'if labelled'>
    """
    rows = [row for row in table() if row.material is material and row.method is method]
    if temperature is not None:
        rows = [row for row in rows if row.covers(temperature)]
    answers = {row.answer for row in rows}
    if len(answers) != 1:
        why = "the temperature is not known" if len(answers) > 1 else "no row covers it"
        return Verdict(Answer.NOT_KNOWN, why, "material and method table")
    row = rows[0]
    if row.answer is Answer.NO or labelled is None:
        return Verdict(row.answer, row.because, row.source)
    if method in labelled:
        return Verdict(Answer.YES, "its label says so", RULE.source)
    return Verdict(Answer.NO, "its label does not name this method", RULE.source)


def routes_through(
    routes: Routes, material: Material | None, labelled: frozenset[Method] | None
) -> tuple[Route, ...]:
    """The certain routes that the material goes through, in order; none for an unknown one."""
    if material is None:
        return ()
    asked = ("through", material, labelled)
    if asked not in routes.answers:
        routes.answers[asked] = tuple(
            route
            for route in routes.accepted
            if ask(material, route.method, route.temperature_c, labelled).answer is Answer.YES
        )
    found: tuple[Route, ...] = routes.answers[asked]
    return found


def method_finding(
    routes: Routes, material: Material | None, labelled: frozenset[Method] | None
) -> Finding:
    """Whether the material goes through a method that the instrument may take.

    Met when one route is certain on both sides. Unknown cycles, an unknown material and
    *if labelled* without a label cannot be told. Source: the material table's own rows.
    """
    asked = ("method", material, labelled)
    if asked not in routes.answers:
        routes.answers[asked] = _method(routes, material, labelled)
    found: Finding = routes.answers[asked]
    return found


def _method(
    routes: Routes, material: Material | None, labelled: frozenset[Method] | None
) -> Finding:
    if not routes.known:
        return RULE.by("the instrument maker's IFU").cannot_tell(
            "No cycle is on record for this instrument: read its IFU before it is packed.", "cycles"
        )
    if material is None:
        return RULE.cannot_tell(
            "The material is not on record: read the packaging maker's IFU.", "material"
        )
    asked = [(route, ask(material, route.method, route.temperature_c, labelled))
             for route in (*routes.accepted, *routes.undecided)]  # fmt: skip
    return _judge(material, asked, routes)


def _judge(material: Material, asked: Iterable[tuple[Route, Verdict]], routes: Routes) -> Finding:
    asked = list(asked)
    name = material.words
    capital = name[:1].upper() + name[1:]
    good = [(r, v) for r, v in asked if v.answer is Answer.YES and r in routes.accepted]
    if good:
        route, verdict = good[0]
        return RULE.by(verdict.source).met(f"{capital} goes through {route}.")
    open_ = [(r, v) for r, v in asked if v.answer is not Answer.NO]
    if open_:
        route, verdict = open_[0]
        return RULE.by(verdict.source).cannot_tell(
            _doubt(name, route, verdict),
            *(f"cycles.{route.missing}",) if route.missing else ("methods",),
        )
    if not asked:
        return RULE.by(routes.source).not_met(routes.refusal)
    route, verdict = asked[0]
    words = f"{capital} does not go through {route.method.words}"
    if route.temperature_c is not None:
        words += f" at {route.temperature_c:g} °C"
    return RULE.by(verdict.source).not_met(f"{words}: {verdict.because}.")


def _doubt(name: str, route: Route, verdict: Verdict) -> str:
    method = route.method.words
    if verdict.answer is Answer.IF_LABELLED:
        return f"Whether {name} goes through {method} stands on its label: read the label."
    if verdict.answer is Answer.NOT_KNOWN:
        return f"Whether {name} goes through {method} is not known: {verdict.because}."
    return f"Its {method} cycle cannot be held against {route}: {route.doubt}. Read its IFU."
