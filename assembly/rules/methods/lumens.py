"""Whether lumens go through a low-temperature cycle by the claims of its sterilizer's maker.

A claim is a row, met only as a whole: material, channels, least bore, greatest length; then
how many pieces with a lumen lie in a tray and in a load, and what the load may weigh. What
is not on record never passes. Source: the sterilizer maker's IFU for the cycle.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from assembly.rules.facts.cycles import LumenClaim
from assembly.rules.facts.instruments import Instrument
from assembly.rules.findings import CLOSE_G, CLOSE_MM, Amount, Finding, Rule, Status
from assembly.rules.methods.routes import Route
from catalog.vocabulary import Method

RULE = Rule("lumens", "the sterilizer maker's IFU: its claims for lumens")
BY_CLAIMS = (Method.H2O2, Method.LTSF)
"""Methods that reach a lumen only as far as the sterilizer's maker claims it."""


@dataclass(frozen=True, slots=True)
class Lumens:
    """Pieces of one instrument with a lumen, ``quantity`` of them in one tray."""

    instrument: Instrument
    quantity: int = 1


class Gross(NamedTuple):
    """One package of a load: its gross weight (g, None unknown), and what of it nobody weighed."""

    code: str
    gross_g: float | None
    not_weighed: tuple[str, ...] = ()


def lumens_of(pieces: Iterable[tuple[Instrument, int]]) -> tuple[Lumens, ...]:
    """Those of the pieces that have a lumen on record."""
    return tuple(
        Lumens(instrument, quantity) for instrument, quantity in pieces if instrument.contents.lumen
    )


def lumen_finding(inside: Sequence[Lumens], way: Route) -> Finding:
    """Whether every lumen in one package is claimed for the way that it goes.

    Asked where the method is one of claims, or claims are on record. Unknown bore, length,
    wall or channels cannot be told, unless what is known fails every row.
    """
    claims = way.programme.claims if way.programme else None
    if not inside:
        return RULE.does_not_apply("No lumen is on record.")
    if way.method not in BY_CLAIMS and not claims:
        return RULE.does_not_apply(
            f"{way.method.words.capitalize()} has no claims on record that "
            "bound a lumen: read both IFUs."
        )
    if not claims:
        return RULE.cannot_tell(
            f"It has a lumen, and the claims for {way} are not on record: read the sterilizer's "
            "IFU.",
            "claims",
        )
    rows: list[LumenClaim] = []
    for one in inside:
        finding, row = _claimed(one.instrument, claims)
        if row is None:
            return finding
        rows.append(row)
    return _counted(sum(one.quantity for one in inside), rows, "tray", "most_in_tray")


def together_finding(
    inside: Sequence[Lumens],
    claims: Sequence[LumenClaim],
    weights: Sequence[Gross],
    near_share: float,
) -> Finding:
    """Whether a whole load is within the claims that its lumens, each by itself, are met by.

    The pieces with a lumen are counted, and what the load weighs is asked where a row bounds
    it (g): over it is not met, whatever is unknown; a package that is not weighed cannot be
    told. Packaging that is not weighed counts from ``near_share`` of the bound on.
    """
    rows = [row for one in inside if (row := _claimed(one.instrument, claims)[1]) is not None]
    counted = _counted(sum(one.quantity for one in inside), rows, "load", "most_in_load")
    limits = [row.load_g for row in rows if row.load_g is not None]
    if counted.status is Status.NOT_MET or not limits:
        return counted
    limit, known = min(limits), sum(one.gross_g or 0.0 for one in weights)
    near = known > near_share * limit
    bare = [one.code for one in weights if one.gross_g is None or (near and one.not_weighed)]
    if bare and known <= limit + CLOSE_G:
        words = "With a lumen in it the load may weigh {most}. {known} is on record; not wholly "
        words += f"weighed: {', '.join(bare)}."
        amounts: dict[str, Amount] = {"most": (limit, "g"), "known": (known, "g")}
        return RULE.cannot_tell(words, "weight_g", limit=limit, unit="g", amounts=amounts)
    return RULE.at_most(
        known,
        limit,
        "g",
        met="The load weighs {figure}; with a lumen in it at the most {limit}.",
        not_met="Too heavy a load for a lumen: {figure}, at the most {limit}.",
    )


def _claimed(
    instrument: Instrument, claims: Sequence[LumenClaim]
) -> tuple[Finding, LumenClaim | None]:
    """The first row that an instrument's lumen meets, or the finding that it meets none."""
    missing: dict[str, None] = {}
    for row in claims:
        unknown = _unknown_of(instrument, row)
        if unknown is None:
            continue
        if not unknown:
            return RULE.met(f"{instrument.name}: {row}."), row
        missing |= dict.fromkeys(unknown)
    if missing:
        words = f"{instrument.name}: its lumen is not wholly on record. Claimed: {claims[0]}."
        return RULE.cannot_tell(words, *missing), None
    size = f"{_mm(instrument.lumen_mm)} wide and {_mm(instrument.lumen_length_mm)} long"
    words = f"{instrument.name}: a lumen {size} is within no claim. Claimed: {claims[0]}"
    more = len(claims) - 1
    words += f", and {more} more." if more else "."
    return RULE.not_met(words), None


def _mm(value: float | None) -> str:
    return "of unknown size" if value is None else f"{value:g} mm"


def _unknown_of(instrument: Instrument, row: LumenClaim) -> tuple[str, ...] | None:
    """Which facts a row still needs of an instrument; None where what is known fails it."""
    bore, length = instrument.lumen_mm, instrument.lumen_length_mm
    material, channels = instrument.lumen_material, instrument.channels
    fails = (
        bore is not None and bore < row.bore_mm - CLOSE_MM / 10,
        length is not None and length > row.length_mm + CLOSE_MM / 10,
        material is not None and material is not row.material,
        channels is not None and channels > row.channels,
    )
    if any(fails):
        return None
    facts = {"lumen_mm": bore, "lumen_length_mm": length, "lumen_material": material,
             "channels": channels}  # fmt: skip
    return tuple(name for name, value in facts.items() if value is None)


def _counted(pieces: int, rows: Sequence[LumenClaim], where: str, field: str) -> Finding:
    limits = [limit for row in rows if (limit := getattr(row, field)) is not None]
    if not limits:
        return RULE.met(f"Within the claims: {rows[0]}." if rows else "Within the claims.")
    most = min(limits)
    words = f"{pieces} with a lumen in one {where}, {most} are claimed at the most."
    return RULE.at_most(pieces, most, "", met=words, not_met=words)
