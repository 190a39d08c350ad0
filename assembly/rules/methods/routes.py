"""The ways an instrument may be sterilized here: its cycles against the programmes run.

A *route* is a method at a temperature, with the programme where the department's are
part of the question. Without programmes the method alone is asked, and every cycle of
the instrument is a route. With them, a route is a programme that a cycle accepts.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from assembly.rules.facts.cycles import Contents, CycleOption, Programme
from assembly.rules.methods.accepting import ORDINARY, RANK, Says, accepts
from assembly.rules.policy.kept import kept
from assembly.rules.policy.values import Policy
from catalog.vocabulary import Method


@dataclass(frozen=True, slots=True)
class Route:
    """One method at a temperature; ``doubt`` and ``missing`` say why it is undecided."""

    method: Method
    temperature_c: float | None
    option: CycleOption
    programme: Programme | None = None
    doubt: str = ""
    missing: str = ""
    caution: str = ""
    source: str = "the instrument maker's IFU"

    def __str__(self) -> str:
        if self.programme is not None:
            return str(self.programme)
        name = self.method.words
        return name if self.temperature_c is None else f"{name} at {self.temperature_c:g} °C"


@dataclass(frozen=True, slots=True)
class Routes:
    """What an instrument may take: certain routes, undecided ones, or why there is none.

    ``answers`` are those of each material that was asked about them, kept with them.
    """

    known: bool
    accepted: tuple[Route, ...] = ()
    undecided: tuple[Route, ...] = ()
    refusal: str = ""
    source: str = "the instrument maker's IFU"
    answers: dict[Any, Any] = field(default_factory=dict, init=False, compare=False, repr=False)


def routes_for(
    cycles: tuple[CycleOption, ...],
    programmes: tuple[Programme, ...] | None,
    policy: Policy,
    contents: Contents = ORDINARY,
) -> Routes:
    """The routes of ``contents`` with ``cycles``; ``programmes`` None: not part of it.

    An instrument without cycles has no known route. Source: the instrument maker's IFU.
    """
    return _routes(cycles, programmes, contents, policy)


@kept
def _routes(
    cycles: tuple[CycleOption, ...],
    programmes: tuple[Programme, ...] | None,
    contents: Contents,
    policy: Policy,
) -> Routes:
    if not cycles:
        return Routes(known=False)
    if programmes is None:
        accepted = tuple(Route(option.method, option.temperature_c, option) for option in cycles)
        return Routes(known=True, accepted=accepted)
    accepted_, undecided, refusals = [], [], []
    for programme in programmes:
        answers = [accepts(option, programme, policy, contents) for option in cycles]
        option, answer = min(
            zip(cycles, answers, strict=True),
            key=lambda pair: (RANK[pair[1].says], bool(pair[1].caution)),
        )
        route = Route(
            programme.method, programme.temperature_c, option, programme,
            doubt=answer.why, missing=answer.missing, caution=answer.caution,
        )  # fmt: skip
        if answer.says is Says.YES:
            accepted_.append(route)
        elif answer.says is Says.CANNOT_TELL:
            undecided.append(route)
        else:
            refusals.append(f"{programme.code}: {answer.why}")
    refusal = "No cycle of the sterilizers serves this instrument"
    refusal += f" ({'; '.join(refusals)})." if refusals else ": the department runs none."
    return Routes(True, tuple(accepted_), tuple(undecided), refusal)
