"""What is looked at before a package leaves the bench, how things lie, how it is loaded.

Every check is a question answered yes or no; "no" leads to what to do. A fact that is not
on record is asked about with "if". Each check says where it comes from, "common practice"
where nothing was found. The packaging maker's IFU comes first.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, assert_never

from assembly.rules.facts.instruments import Instrument
from assembly.rules.facts.supplies import Supply
from assembly.rules.findings import Amount, Candidate, Caution, Show, filled, metric
from assembly.rules.limits.handling import may_be_sharp
from assembly.rules.policy.values import Policy
from assembly.rules.telling.words import told
from catalog.vocabulary import Kind, Method

SHEETS = (Kind.POUCH, Kind.ROLL)


@dataclass(frozen=True, slots=True)
class Check:
    """A question before closing, after it or before a release; ``if_no`` is what to do then.

    ``group`` says what is looked at: one press answers one group. ``word`` names the check.
    ``lacks`` is the fact that is not on record, for what it may have none of: were it known
    to be false, the check would not be asked. ``when`` is the condition under which it is asked,
    where nobody knows whether it holds: "it has a lumen".

    Texts may hold ``{names}`` of ``amounts``; :meth:`asked` and :meth:`then` write them in
    the reader's units.
    """

    key: str
    question: str
    if_no: str
    source: str
    amounts: Mapping[str, Amount] = field(default_factory=dict, hash=False)
    word: str = ""
    group: str = ""
    lacks: str = ""
    when: str = ""

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
    method: Method | None = None


def packed_from(candidate: Candidate, supply: Supply, next_size: str = "") -> Packed:
    """What a decision's candidate amounts to, with the supply that its code names."""
    return Packed(
        kind=Kind(candidate.kind),
        closure=getattr(supply, "closure", None),
        double=candidate.kind == Kind.POUCH and bool(candidate.with_codes),
        gusseted=bool(getattr(supply, "gusset_mm", 0)),
        closing_asked_mm=candidate.details.get("closing_asked_mm"),
        next_size=next_size,
        method=candidate.method,
    )


# --- before closing -----------------------------------------------------------------


def closing_checks(packed: Packed, inside: Instrument, policy: Policy) -> tuple[Check, ...]:
    """The checks of one package before it is closed, in the order of the hands: the piece
    (``group`` "piece"), then how it lies in its package ("package"). What the contents are
    known not to have is not asked about; what is not known is asked about with "if".

    >>> from datetime import date
    >>> from assembly.rules.policy.values import default_policy
    >>> pouch = Packed(kind=Kind.POUCH, closure="self-seal")
    >>> hinged = Instrument(name="clamp", hinged=True, sharp=False, hollow=False, parts=False)
    >>> checks = closing_checks(pouch, hinged, default_policy(date(2026, 1, 1)))
    >>> [check.key for check in checks]
    ['clean', 'dry', 'works', 'hinged', 'indicator', 'air']
    """
    found = [*_piece(inside, policy), *_lying(packed, inside, policy)]
    match packed.kind:
        case Kind.POUCH | Kind.ROLL:
            found += _in_a_sheet(packed, inside, policy)
        case Kind.WRAP:
            found += [_indicators(packed, policy), *_checks("package", policy, "sheet")]
        case Kind.CONTAINER:
            found += [
                _indicators(packed, policy),
                *_checks("package", policy, "filter", "rim", "gasket"),
            ]
        case _:
            assert_never(packed.kind)
    return tuple(found)


def closed_checks(packed: Packed, policy: Policy) -> tuple[Check, ...]:
    """The checks of one package once it is closed, with its label in the hand.

    >>> from datetime import date
    >>> from assembly.rules.policy.values import default_policy
    >>> policy = default_policy(date(2026, 1, 1))
    >>> [check.key for check in closed_checks(Packed(kind=Kind.POUCH, closure="self-seal"), policy)]
    ['seal', 'self-seal']
    """
    match packed.kind:
        case Kind.POUCH | Kind.ROLL:
            return tuple(_seals(packed, policy))
        case Kind.WRAP:
            return tuple(_checks("closed", policy, "fit", "tape"))
        case Kind.CONTAINER:
            return tuple(_checks("closed", policy, "lock"))
        case _:
            assert_never(packed.kind)


def _check(
    group: str, key: str, policy: Policy, text: str = "", lacks: str = "", **put_in: Any
) -> Check:
    """The check ``key`` of a group, in the words of the entry ``text`` where they are another's."""
    texts = told(group, text or key, policy, **put_in)
    return Check(key, **texts, group=group, lacks=lacks)


def _checks(group: str, policy: Policy, *keys: str, **put_in: str) -> Iterator[Check]:
    return (_check(group, key, policy, **put_in) for key in keys)


def _piece(inside: Instrument, policy: Policy) -> Iterator[Check]:
    it = "everything" if inside.pieces > 1 else "it"
    yield from _checks("piece", policy, "clean", "dry", "works", it=it)
    lumen = inside.contents.lumen or (None if inside.hollow is None or inside.hollow else False)
    if lumen is not False:
        yield _check("piece", "lumen", policy, known=lumen, lacks="" if lumen else "hollow")


def _lying(packed: Packed, inside: Instrument, policy: Policy) -> Iterator[Check]:
    """What is asked of how the contents lie, but for what they are known not to have."""
    if inside.hinged is not False:
        yield _hinged(packed, inside, policy)
    if inside.ratchet is not False and not _opens_with_its_ratchet(inside):
        lacks = "ratchet" if inside.ratchet is None else ""
        yield _check("package", "ratchet", policy, known=inside.ratchet, lacks=lacks,
                     state=_left(policy))  # fmt: skip
    if inside.parts is not False:
        lacks = "parts" if inside.parts is None else ""
        yield _check("package", "parts", policy, known=inside.parts, lacks=lacks)
    known = True if inside.protector else inside.sharp
    if known or (known is None and may_be_sharp(inside)):
        name = f" ({inside.protector})" if inside.protector else ""
        text = "protectors" if name and inside.pieces > 1 else "protector"
        yield _check("package", "protector", policy, text, known=known, name=name)


def _opens_with_its_ratchet(inside: Instrument) -> bool:
    """Whether one look at the open joint is also one at the ratchet."""
    return inside.hinged is True or (inside.hinged is None and inside.ratchet is None)


def _left(policy: Policy) -> str:
    return "open" if policy.word("ratchet") == "open" else "on the first tooth at the most"


def _hinged(packed: Packed, inside: Instrument, policy: Policy) -> Check:
    """In a pouch, one look at what is known to be hinged is a look at its room too."""
    ratchet = ""
    if _opens_with_its_ratchet(inside) and policy.word("ratchet") != "open":
        ratchet = {True: f", its ratchet {_left(policy)}", None: f", a ratchet {_left(policy)}",
                   False: ""}[inside.ratchet]  # fmt: skip
    if inside.hinged is None or packed.kind not in SHEETS:
        lacks = "hinged" if inside.hinged is None else ""
        return _check("package", "hinged", policy, known=inside.hinged, lacks=lacks,
                      ratchet=ratchet)  # fmt: skip
    return _with_room(packed, policy, "hinged", "hinged in a pouch", known=True, ratchet=ratchet)


def _with_room(packed: Packed, policy: Policy, key: str, text: str, **put_in: Any) -> Check:
    """The room of this very package, where it is more than the least of the policy."""
    seal = "the seal at the peel end" if packed.kind is Kind.ROLL else "the seal that you make"
    larger = f"the next size: {packed.next_size}" if packed.next_size else "a larger one"
    found = _check("package", key, policy, text, where=seal, larger=larger, **put_in)
    asked = packed.closing_asked_mm
    return found if asked is None else replace(found, amounts={"free": (asked, "mm")})


def _in_a_sheet(packed: Packed, inside: Instrument, policy: Policy) -> Iterator[Check]:
    where = "in the inner pouch" if packed.double else "inside"
    yield _check("package", "indicator", policy, "indicator in a pouch", where=where,
                 type=_indicator(packed, policy))  # fmt: skip
    if inside.hinged is not True:
        yield _with_room(packed, policy, "clearance", "clearance")
    yield from _checks("package", policy, "air")
    if packed.double:
        yield from _checks("package", policy, "double: free", "double: facing")


def _indicator(packed: Packed, policy: Policy) -> str:
    """The one that lies inside, by its method and its type: ``steam indicator (type 5)``."""
    method = f"{packed.method.words} " if packed.method else ""
    return f"{method}indicator ({policy.word('internal_indicator')})"


def _indicators(packed: Packed, policy: Policy) -> Check:
    return _check("package", "indicator", policy, type=_indicator(packed, policy))


def _seals(packed: Packed, policy: Policy) -> Iterator[Check]:
    if packed.gusseted:
        yield from _checks("closed", policy, "pleats")
    yield from _checks("closed", policy, "seal")
    if packed.closure == "self-seal":
        yield from _checks("closed", policy, "self-seal")
    else:
        sealed = bool(packed.closure) or packed.kind is Kind.ROLL
        yield _check("closed", "seal width", policy, known=sealed)


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


LOADING: dict[Kind, tuple[str, ...]] = {
    Kind.POUCH: ("edge",),
    Kind.ROLL: ("edge",),
    Kind.WRAP: ("flat",),
    Kind.CONTAINER: ("stacked", "lower"),
}


def loading(packed: Packed, policy: Policy) -> tuple[Caution, ...]:
    """How the package goes into the sterilizer, one sentence each. The sterilizer's IFU first."""
    keys = LOADING[packed.kind]
    if packed.kind in SHEETS:
        keys = (*keys, policy.word("facing_in_chamber"))
    return tuple(Caution(**told("loading", key, policy)) for key in keys)
