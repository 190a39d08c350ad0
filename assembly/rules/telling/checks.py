"""What is looked at before a package leaves the bench, how things lie, how it is loaded.

Every check is a question answered yes or no; "no" leads to what to do. A fact that is not
on record is asked about with "if". Each check says where it comes from, "common practice"
where nothing was found. The packaging maker's IFU comes first.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import assert_never

from assembly.rules.facts.instruments import Instrument
from assembly.rules.facts.supplies import Supply
from assembly.rules.findings import Amount, Candidate, Caution, Show, filled, metric
from assembly.rules.policy.values import Policy
from assembly.rules.telling.words import told
from catalog.vocabulary import Kind

SHEETS = (Kind.POUCH, Kind.ROLL)


@dataclass(frozen=True, slots=True)
class Check:
    """A question before closing or signing; ``if_no`` is what to do then.

    Texts may hold ``{names}`` of ``amounts``; :meth:`asked` and :meth:`then` write them in
    the reader's units.
    """

    key: str
    question: str
    if_no: str
    source: str
    amounts: Mapping[str, Amount] = field(default_factory=dict, hash=False)

    def asked(self, show: Show = metric) -> str:
        """The question as a person reads it."""
        return filled(self.question, self.amounts, show)

    def then(self, show: Show = metric) -> str:
        """What to do when the answer is no."""
        return filled(self.if_no, self.amounts, show)


@dataclass(frozen=True, slots=True, kw_only=True)
class Packed:
    """What the package is: its kind, closure ("self-seal", "heat-seal", None), and so on.

    ``closing_asked_mm`` is the sheet to be left free at the closing seal, None for the least
    of the policy. ``next_size`` names what is taken where this one is too small in the hand.
    """

    kind: Kind
    closure: str | None = None
    double: bool = False
    gusseted: bool = False
    closing_asked_mm: float | None = None
    next_size: str = ""


def packed_from(candidate: Candidate, supply: Supply, next_size: str = "") -> Packed:
    """What a decision's candidate amounts to, with the supply that its code names."""
    return Packed(
        kind=Kind(candidate.kind),
        closure=getattr(supply, "closure", None),
        double=candidate.kind == Kind.POUCH and bool(candidate.with_codes),
        gusseted=bool(getattr(supply, "gusset_mm", 0)),
        closing_asked_mm=candidate.details.get("closing_asked_mm"),
        next_size=next_size,
    )


# --- before closing -----------------------------------------------------------------


def closing_checks(packed: Packed, inside: Instrument, policy: Policy) -> tuple[Check, ...]:
    """The checks of one package, contents first, then its closure.

    >>> from datetime import date
    >>> from assembly.rules.policy.values import default_policy
    >>> pouch = Packed(kind=Kind.POUCH, closure="self-seal")
    >>> hinged = Instrument(name="clamp", hinged=True, ratchet=False, sharp=False, parts=False)
    >>> checks = closing_checks(pouch, hinged, default_policy(date(2026, 1, 1)))
    >>> [check.key for check in checks]
    ['dry', 'hinged', 'lumen', 'indicator', 'clearance', 'air', 'seal', 'self-seal', 'marking']
    """
    found = list(_contents(packed, inside, policy))
    match packed.kind:
        case Kind.POUCH | Kind.ROLL:
            found += _sheet_closure(packed, policy)
        case Kind.WRAP:
            found += _checks(policy, "indicator", "sheet", "fit", "tape")
        case Kind.CONTAINER:
            found += _checks(policy, "indicator", "filter", "rim", "gasket", "lock")
        case _:
            assert_never(packed.kind)
    return tuple(found)


def _checks(policy: Policy, *keys: str) -> Iterable[Check]:
    return (Check(key, **told("closing", key, policy)) for key in keys)


def _contents(packed: Packed, inside: Instrument, policy: Policy) -> Iterable[Check]:
    """What is asked of the contents, but for what they are known not to have."""
    yield from _checks(policy, "dry")
    state = "open" if policy.word("ratchet") == "open" else "on the first tooth at the most"
    name = f" ({inside.protector})" if inside.protector else ""
    if inside.hinged is not False:
        yield _hinged(packed, inside, policy)
    for key, known in {
        "ratchet": inside.ratchet,
        "parts": inside.parts,
        "lumen": inside.contents.lumen or None,
        "protector": True if inside.protector else inside.sharp,
    }.items():
        if known is not False:
            entry = "protectors" if key == "protector" and name and inside.pieces > 1 else key
            texts = told("closing", entry, policy, known=known, state=state, name=name)
            yield Check(key, **texts)


def _hinged(packed: Packed, inside: Instrument, policy: Policy) -> Check:
    key = "hinged in a pouch" if packed.kind in SHEETS else "hinged"
    larger = f"the next size: {packed.next_size}" if packed.next_size else "a larger one"
    return Check("hinged", **told("closing", key, policy, known=inside.hinged, larger=larger))


def _sheet_closure(packed: Packed, policy: Policy) -> Iterable[Check]:
    where = "in the inner pouch" if packed.double else "inside"
    yield Check("indicator", **told("closing", "indicator in a pouch", policy, where=where))
    clearance = "clearance in a roll" if packed.kind is Kind.ROLL else "clearance"
    texts = told("closing", clearance, policy)
    if packed.closing_asked_mm is not None:
        texts["amounts"] = {"free": (packed.closing_asked_mm, "mm")}
    yield Check("clearance", **texts)
    yield from _checks(policy, "air")
    if packed.gusseted:
        yield from _checks(policy, "pleats")
    yield from _checks(policy, "seal")
    if packed.closure == "self-seal":
        yield from _checks(policy, "self-seal")
    else:
        sealed = bool(packed.closure) or packed.kind is Kind.ROLL
        yield Check("seal width", **told("closing", "seal width", policy, known=sealed))
    if packed.double:
        yield from _checks(policy, "double: free", "double: facing")
    yield from _checks(policy, "marking")


# --- how it lies and how it is loaded -------------------------------------------------


def orientation(packed: Packed, inside: Instrument, policy: Policy) -> tuple[Caution, ...]:
    """How the contents lie in the package, one sentence each.

    A vented protector settles which way tips point; without one the policy's word rules.
    """
    found = []
    if packed.kind in SHEETS:
        peel = "peel of a roll" if packed.kind is Kind.ROLL else "peel"
        found.append(Caution(**told("lying", peel, policy)))
        if inside.sharp is not False:
            found.append(_tips(inside, policy))
    else:
        found.append(Caution(**told("lying", "heavy", policy)))
    if inside.hinged:
        found.append(Caution(**told("lying", "hinged", policy)))
    if inside.hollow:
        found.append(Caution(**told("lying", "hollow", policy)))
    return tuple(found)


def _tips(inside: Instrument, policy: Policy) -> Caution:
    tips = "Tips" if inside.sharp else "Tips, if it has any,"
    if inside.protector:
        return Caution(**told("lying", "tips covered", policy, tips=tips, name=inside.protector))
    return Caution(**told("lying", "tips", policy, tips=tips, where=policy.word("tips_in_pouch")))


LOADING = {
    Kind.POUCH: ("edge", "facing"),
    Kind.ROLL: ("edge", "facing"),
    Kind.WRAP: ("flat",),
    Kind.CONTAINER: ("stacked", "lower"),
}


def loading(packed: Packed, policy: Policy) -> tuple[Caution, ...]:
    """How the package goes into the sterilizer, one sentence each. The sterilizer's IFU first."""
    facing = policy.word("facing_in_chamber")
    keys = LOADING[packed.kind]
    return tuple(Caution(**told("loading", key, policy, facing=facing)) for key in keys)
