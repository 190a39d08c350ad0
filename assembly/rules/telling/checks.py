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
from catalog.vocabulary import Kind, Material

PRACTICE = "common practice, no source"
SEAL_SOURCE = "ISO/TS 16775:2014, health-care annex, d and e"
DOUBLE_SOURCE = "ISO/TS 16775:2014, health-care annex, c; DGSV guideline 2011, annex A.6"
NEW_POUCH = "Open it and repack with a new pouch: it is for single use and never sealed again."
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
    """What the package is: its kind, closure ("self-seal", "heat-seal", None), and so on."""

    kind: Kind
    closure: str | None = None
    double: bool = False
    gusseted: bool = False
    material: Material | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Handled:
    """What the contents need in handling; None where the record does not say.

    ``protector`` as in :class:`~assembly.rules.facts.instruments.Instrument`: "" for none.
    """

    hinged: bool | None = None
    ratchet: bool | None = None
    sharp: bool | None = None
    protector: str | None = None
    lumen: bool | None = None
    hollow: bool | None = None
    parts: bool | None = None


def packed_from(candidate: Candidate, supply: Supply) -> Packed:
    """What a decision's candidate amounts to, with the supply that its code names."""
    return Packed(
        kind=Kind(candidate.kind),
        closure=getattr(supply, "closure", None),
        double=candidate.kind == Kind.POUCH and bool(candidate.with_codes),
        gusseted=bool(getattr(supply, "gusset_mm", 0)),
        material=getattr(supply, "material", None),
    )


def handled_from(
    instrument: Instrument,
    *,
    ratchet: bool | None = None,
    hollow: bool | None = None,
    parts: bool | None = None,
) -> Handled:
    """The handling facts of an instrument, with those its record holds elsewhere.

    A lumen of unknown bore is unknown, not absent.
    """
    lumen = instrument.lumen_mm is not None or instrument.lumen_length_mm is not None
    return Handled(
        hinged=instrument.hinged,
        ratchet=instrument.ratchet if ratchet is None else ratchet,
        sharp=instrument.sharp,
        protector=instrument.protector,
        lumen=True if lumen else None,
        hollow=instrument.hollow if hollow is None else hollow,
        parts=instrument.parts if parts is None else parts,
    )


# --- before closing -----------------------------------------------------------------


def closing_checks(packed: Packed, handled: Handled, policy: Policy) -> tuple[Check, ...]:
    """The checks of one package, contents first, then its closure.

    >>> from datetime import date
    >>> from assembly.rules.policy.values import default_policy
    >>> pouch = Packed(kind=Kind.POUCH, closure="self-seal")
    >>> hinged = Handled(hinged=True, ratchet=False, sharp=False, lumen=False, parts=False)
    >>> checks = closing_checks(pouch, hinged, default_policy(date(2026, 1, 1)))
    >>> [check.key for check in checks]
    ['dry', 'hinged', 'indicator', 'clearance', 'air', 'seal', 'self-seal', 'marking']
    """
    found = [*_contents(handled, policy), _indicator(packed)]
    match packed.kind:
        case Kind.POUCH | Kind.ROLL:
            found += _sheet_closure(packed, policy)
        case Kind.WRAP:
            found += _wrap_closure(policy)
        case Kind.CONTAINER:
            found += _container_closure(policy)
        case _:
            assert_never(packed.kind)
    return tuple(found)


def _contents(handled: Handled, policy: Policy) -> Iterable[Check]:
    yield Check("dry", "Is everything clean, dry and in working order?",
                "Send it back to cleaning, or dry it: only dry items are packed.",
                "packaging guidance as restated")  # fmt: skip
    if handled.hinged is not False:
        yield Check("hinged", _if("it is hinged", handled.hinged, "is it open?"),
                    "Open it: the sterilant must reach the joint.",
                    "ANSI/AAMI ST79 as reported")  # fmt: skip
    if handled.ratchet is not False:
        state = "open" if policy.word("ratchet") == "open" else "on the first tooth at the most"
        yield Check("ratchet", _if("it has a ratchet", handled.ratchet, f"is the ratchet {state}?"),
                    f"Set the ratchet: {state}.", policy.source("ratchet"))  # fmt: skip
    if handled.parts is not False:
        yield Check("parts", _if("it has parts", handled.parts, "are the parts taken apart?"),
                    "Take it apart as its IFU says.", "the instrument maker's IFU")  # fmt: skip
    if handled.lumen is not False:
        yield Check("lumen", _if("it has a lumen", handled.lumen, "is the lumen free, and as dry "
                    "or moist as its IFU asks?"),
                    "Clear it and dry it, unless its IFU asks for moisture in steam.",
                    "the instrument maker's IFU")  # fmt: skip
    if handled.sharp is not False:
        name = f" ({handled.protector})" if handled.protector else ""
        yield Check("protector", _if("it has a sharp point or edge", handled.sharp,
                    f"is it covered by a vented protector{name} that is not tight?"),
                    "Cover it with a vented protector cleared for the method.",
                    "ISO/TS 16775:2014, health-care annex, a")  # fmt: skip


def _if(condition: str, known: bool | None, question: str) -> str:
    if known:
        return question[0].upper() + question[1:]
    return f"If {condition}, {question}"


def _indicator(packed: Packed) -> Check:
    if packed.kind in SHEETS:
        where = "in the inner pouch" if packed.double else "inside"
        return Check("indicator", f"Is the indicator {where}, readable through the film?",
                     "Put one in, facing the film, before it is closed.",
                     "CDC-based guidance; ANSI/AAMI ST79 as reported; readable through the "
                     f"film: {PRACTICE}")  # fmt: skip
    return Check("indicator", "Is every indicator in its place inside?",
                 "Put in what is missing before it is closed.",
                 "CDC-based guidance; ANSI/AAMI ST79 as reported")  # fmt: skip


def _sheet_closure(packed: Packed, policy: Policy) -> Iterable[Check]:
    free = policy.number("closing_clearance_mm")
    yield Check("clearance", "Are at least {free} free between the contents and the closing seal?",
                "Take the next larger one.", policy.source("closing_clearance_mm"),
                {"free": (free, "mm")})  # fmt: skip
    yield Check("air", "Is the air pressed out?", "Press it out before it is closed.",
                "packaging guidance as restated")  # fmt: skip
    if packed.gusseted:
        yield Check("pleats", "Do the pleats lie flat in the closing seal?", NEW_POUCH,
                    "SF2S good practice")  # fmt: skip
    yield Check("seal", "Is the seal smooth over its full width and in both corners, without a "
                "fold, bubble or wrinkle?", NEW_POUCH, SEAL_SOURCE)  # fmt: skip
    if packed.closure == "self-seal":
        yield Check("self-seal", "Is the flap folded exactly on the printed line, and pressed from "
                    "the middle outwards?", NEW_POUCH, SEAL_SOURCE)  # fmt: skip
    else:
        yield _seal_width(packed, policy)
    if packed.double:
        yield from _double()
    yield Check("marking", "Is the writing on the film side only, outside the seal, or on a label?",
                "Repack and write on the film side or a label: ink goes through paper.",
                "ANSI/AAMI ST79 8.3.2 as quoted by OSAP 2015; German guide 2025")  # fmt: skip


def _seal_width(packed: Packed, policy: Policy) -> Check:
    start = "" if packed.closure or packed.kind is Kind.ROLL else "If it is heat-sealed, "
    question = (
        "is the seal at least {seal} wide (ribs add up), with at least {grip} beyond it to grip?"
    )
    return Check(
        "seal width",
        start + (question if start else question[0].upper() + question[1:]),
        NEW_POUCH,
        policy.source("closing_seal_mm", "peel_overhang_mm"),
        {
            "seal": (policy.number("closing_seal_mm"), "mm"),
            "grip": (policy.number("peel_overhang_mm"), "mm"),
        },
    )


def _double() -> Iterable[Check]:
    yield Check("double: free", "Does the inner pouch lie flat and free to move, nowhere folded?",
                "Take a larger outer pouch, validated for this inner one.",
                DOUBLE_SOURCE)  # fmt: skip
    yield Check("double: facing", "Do film and film, paper and paper lie on each other?",
                "Turn the inner pouch over, in a new outer pouch if it is closed.",
                DOUBLE_SOURCE)  # fmt: skip


def _wrap_closure(policy: Policy) -> Iterable[Check]:
    yield Check("sheet", "Is the sheet whole, clean and without a hole, held against the light?",
                "Take another sheet.", PRACTICE)  # fmt: skip
    yield Check("fit", "Is it wrapped snugly, neither strained nor loose?",
                "Unwrap it and wrap it again, with another sheet size if need be.",
                "ANSI/AAMI ST79 as reported")  # fmt: skip
    yield Check("tape", "Is it closed with at least {tape} of indicator tape, without pins or "
                "staples?", "Take pins and staples out with the sheet: take a new sheet, and tape.",
                policy.source("wrap_tape_mm"),
                {"tape": (policy.number("wrap_tape_mm"), "mm")})  # fmt: skip


def _container_closure(policy: Policy) -> Iterable[Check]:
    yield Check("filter", "Is the filter new, the right one, and does it cover every hole?",
                "Put in a new filter for this container and method.",
                "SF2S good practice")  # fmt: skip
    yield Check("rim", "Do all items stay at least {free} below the lid?",
                "Lay them flatter, or take a higher container.",
                policy.source("rim_clearance_mm"),
                {"free": (policy.number("rim_clearance_mm"), "mm")})  # fmt: skip
    yield Check("gasket", "Is the gasket whole and clean, and does the lid close all round?",
                "Take the container out of use and take another.", PRACTICE)  # fmt: skip
    yield Check("lock", "Is it sealed so that opening shows?", "Put on a new seal.",
                "packaging guidance as restated")  # fmt: skip


# --- how it lies and how it is loaded -------------------------------------------------


def orientation(packed: Packed, handled: Handled, policy: Policy) -> tuple[Caution, ...]:
    """How the contents lie in the package, one sentence each.

    A vented protector settles which way tips point; without one the policy's word rules.
    """
    found = []
    if packed.kind in SHEETS:
        found.append(
            Caution(
                "Handle to the peel end, sharp end opposite; the chevron shows the way to peel.",
                "WFHSS guidelines, packaging chapter",
            )
        )
        if handled.sharp is not False:
            found.append(_tips(handled, policy))
    else:
        found.append(Caution("Heavy items at the bottom and spread out, light ones above.",
                             "ANSI/AAMI ST79 as reported"))  # fmt: skip
    if handled.hinged:
        found.append(Caution("Hinged: lay it open.", "ANSI/AAMI ST79 as reported"))
    if handled.hollow:
        found.append(Caution("Hollow: lay it so that it drains, opening down or tilted.",
                             "ANSI/AAMI ST79 as reported"))  # fmt: skip
    return tuple(found)


def _tips(handled: Handled, policy: Policy) -> Caution:
    start = "Tips" if handled.sharp else "Tips, if it has any,"
    if handled.protector:
        return Caution(f"{start} covered ({handled.protector}): they may point either way.",
                       "common practice: a vented protector settles it")  # fmt: skip
    return Caution(f"{start} {policy.word('tips_in_pouch')}.", policy.source("tips_in_pouch"))


def loading(packed: Packed, policy: Policy) -> tuple[Caution, ...]:
    """How the package goes into the sterilizer, one sentence each. The sterilizer's IFU first."""
    match packed.kind:
        case Kind.POUCH | Kind.ROLL:
            facing = policy.word("facing_in_chamber")
            return (
                Caution("On edge in a rack or basket, with space between, not stacked.",
                        "trade notes"),
                Caution(f"Facing one another {facing}.", policy.source("facing_in_chamber")),
            )  # fmt: skip
        case Kind.WRAP:
            return (
                Caution("Sets flat, textile packs on edge, with space between, nothing on top.",
                        PRACTICE),
            )  # fmt: skip
        case Kind.CONTAINER:
            return (
                Caution("Flat, and stacked only as its maker has validated.",
                        "the container maker's IFU"),
                Caution("Heavy containers on the lower shelf, so that nothing drips on others.",
                        PRACTICE),
            )  # fmt: skip
        case _:
            assert_never(packed.kind)
