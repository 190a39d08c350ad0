"""The ways an instrument may be sterilized here: its cycles against the programmes run.

A *route* is a method at a temperature, with the programme where the department's are
part of the question. Without programmes the method alone is asked, and every cycle of
the instrument is a route. With them, a route is a programme that a cycle accepts.
"""

from __future__ import annotations

from dataclasses import dataclass

from assembly.rules.facts.cycles import CycleOption, Programme
from assembly.rules.policy.values import Policy
from catalog.vocabulary import METHOD_NAMES, Method


@dataclass(frozen=True, slots=True)
class Route:
    """One method at a temperature; ``doubt`` and ``missing`` say why it is undecided."""

    method: Method
    temperature_c: float | None
    option: CycleOption
    programme: Programme | None = None
    doubt: str = ""
    missing: str = ""

    def __str__(self) -> str:
        if self.programme is not None:
            return str(self.programme)
        name = METHOD_NAMES[self.method]
        return name if self.temperature_c is None else f"{name} at {self.temperature_c:g} °C"


@dataclass(frozen=True, slots=True)
class Routes:
    """What an instrument may take: certain routes, undecided ones, or why there is none."""

    known: bool
    accepted: tuple[Route, ...] = ()
    undecided: tuple[Route, ...] = ()
    refusal: str = ""
    source: str = "the instrument maker's IFU"


def routes_for(
    cycles: tuple[CycleOption, ...], programmes: tuple[Programme, ...] | None, policy: Policy
) -> Routes:
    """The routes of an instrument with ``cycles``; ``programmes`` None: not part of it.

    An instrument without cycles has no known route. Source: the instrument maker's IFU.
    """
    if not cycles:
        return Routes(known=False)
    if programmes is None:
        accepted = tuple(Route(option.method, option.temperature_c, option) for option in cycles)
        return Routes(known=True, accepted=accepted)
    accepted_, undecided, refusals = [], [], []
    for programme in programmes:
        answers = [accepts(option, programme, policy) for option in cycles]
        option, (state, why, missing) = min(
            zip(cycles, answers, strict=True), key=lambda pair: _RANK[pair[1][0]]
        )
        route = Route(
            programme.method, programme.temperature_c, option, programme, doubt=why, missing=missing
        )
        if state == "yes":
            accepted_.append(route)
        elif state == "cannot tell":
            undecided.append(route)
        else:
            refusals.append(f"{programme.code}: {why}")
    refusal = "None of the programmes serves this instrument"
    refusal += f" ({'; '.join(refusals)})." if refusals else ": the department runs none."
    return Routes(True, tuple(accepted_), tuple(undecided), refusal)


_RANK = {"yes": 0, "cannot tell": 1, "no": 2}


def accepts(option: CycleOption, programme: Programme, policy: Policy) -> tuple[str, str, str]:
    """Whether a cycle accepts a programme: ("yes" | "no" | "cannot tell", why, missing field).

    Temperature classes must be equal: nothing is inferred from a neighbouring one. A
    missing least exposure is unknown, not zero. A missing longest exposure is read as the
    policy says, strictly by default: the same as the least. A missing least drying asks
    for none. Source: the instrument maker's IFU.
    """
    if option.method is not programme.method:
        return "no", f"{METHOD_NAMES[programme.method]} is not among its cycles", ""
    checks = (_temperature(option, programme), _exposure(option, programme, policy),
              _drying(option, programme))  # fmt: skip
    for state in ("no", "cannot tell"):
        for check in checks:
            if check[0] == state:
                return check
    return "yes", "", ""


def _temperature(option: CycleOption, programme: Programme) -> tuple[str, str, str]:
    asked, given = option.temperature_c, programme.temperature_c
    if option.method is not Method.STEAM and asked is None:
        return "yes", "", ""
    if asked is None or given is None:
        return "cannot tell", "the temperature is not on record", "temperature_c"
    if asked != given:
        return "no", f"its cycle is at {asked:g} °C, the programme at {given:g} °C", ""
    return "yes", "", ""


def _exposure(option: CycleOption, programme: Programme, policy: Policy) -> tuple[str, str, str]:
    low, high, given = option.exposure_min, option.exposure_max, programme.exposure_min
    if low is None or given is None:
        return "cannot tell", "the exposure is not on record", "exposure_min"
    if given < low:
        return "no", f"it needs at least {low:g} min, the programme gives {given:g}", ""
    if high is None and policy.word("unknown_maximum") == "same as the minimum":
        if given > low:
            return (
                "no",
                f"it states {low:g} min and no longest exposure, the programme gives {given:g}",
                "",
            )
    elif high is not None and given > high:
        return "no", f"it bears at most {high:g} min, the programme gives {given:g}", ""
    return "yes", "", ""


def _drying(option: CycleOption, programme: Programme) -> tuple[str, str, str]:
    if option.drying_min is None:
        return "yes", "", ""
    if programme.drying_min is None:
        return "cannot tell", "the programme's drying is not on record", "drying_min"
    if programme.drying_min < option.drying_min:
        return (
            "no",
            f"it needs {option.drying_min:g} min drying, the programme gives "
            f"{programme.drying_min:g}",
            "",
        )
    return "yes", "", ""
