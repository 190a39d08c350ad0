"""What hangs on the wall: what each poster says by the policy in force; whose document each is."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import date

from django.db import transaction
from django.utils import timezone

from assembly.ledger import Refused
from assembly.rules.days import day_words
from assembly.rules.drawing.shapes import Scene
from assembly.rules.findings import filled, metric
from assembly.rules.policy.values import Policy
from assembly.rules.telling.words import told
from catalog.actions import Actor, record
from catalog.models import Change
from reports.documents.cards import Card
from reports.documents.posters import Control, Fact, Figure, Panel, Poster
from reports.drawing.posters import loading, pouches, seals, wraps
from reports.gathering.cards_from_policy import (
    IFU_FIRST,
    PRACTICE,
    TEMPERATURES,
    made,
    temperatures_card,
)
from reports.models import WallPoster

G_A_POUND = 453.59237


@dataclass(frozen=True, slots=True)
class Limit:
    """A limit of the house: its value in the policy, with what it is weighed, and how."""

    name: str
    words: str
    how: str = "Weigh it closed"
    draw: Callable[[str], Scene] = loading.weighed_closed


LIMITS = (
    Limit("gross_limit_g", "gross: closed, all in"),
    Limit("gross_limit_wrapped_g", "gross, if wrapped"),
    Limit("load_limit_g", "load of a full-size container", "Weigh the full basket",
          loading.weighed_open),
    Limit("net_limit_g", "net: instruments only", "Weigh the instruments", loading.weighed_net),
)  # fmt: skip
"""What a poster shows of them; the first that is set is drawn on the scale."""


@dataclass(frozen=True, slots=True)
class Design:
    """A poster that can be asked for: its key in the address, its title, what makes it."""

    key: str
    title: str
    make: Callable[[Policy], Poster]


def wall_poster(key: str, policy: Policy, printed_by: str, today: date | None = None) -> Poster:
    """A poster by the policy in force, with the values that the department has set.

    KeyError for a key that is none.
    """
    control, notice = _control(key, today)
    poster = DESIGNS[key].make(policy)
    return replace(poster, control=control, notice=notice,
                   foot=f"{IFU_FIRST} Drawings are not to scale. "
                        f"{made(policy, printed_by)}")  # fmt: skip


def wall_temperatures(policy: Policy, printed_by: str, seals: Sequence[str]) -> Card:
    """The sheet beside a sealer, with whose it is: no poster, because it is all figures."""
    control, notice = _control(SHEET)
    card = temperatures_card(policy, printed_by, seals)
    return replace(card, control=control.words, loud=notice)


def _control(key: str, today: date | None = None) -> tuple[Control, str]:
    """Whose it is, and white on black that it has run out."""
    control = controls().get(key, Control())
    if control.valid_until and control.overdue(today or timezone.localdate()):
        return control, f"NOT VALID SINCE {day_words(control.valid_until).upper()}"
    return control, ""


def controls() -> dict[str, Control]:
    """The values that the department has set, by the key of what they are of. One query."""
    return {
        row.key: Control(row.owner, row.number, row.valid_until) for row in WallPoster.objects.all()
    }


# --- whose document it is ----------------------------------------------------------------


@transaction.atomic
def set_controls(actor: Actor, typed: Mapping[str, Control], seen: Mapping[str, Control]) -> int:
    """Put owner, number and last day of what hangs on the wall on record; how many were changed.

    What is as it was ``seen`` is left alone. Refused, and nothing kept, where somebody else
    changed the same one meanwhile.
    """
    changed = 0
    for key, control in typed.items():
        if control == seen[key]:
            continue
        row, _ = WallPoster.objects.select_for_update().get_or_create(key=key)
        was = Control(row.owner, row.number, row.valid_until)
        if was != seen[key]:
            raise Refused(f"{TITLES[key]}: somebody else changed it meanwhile. Now it says: "
                          f"{'; '.join(was.words)}. Look again, then change it.")  # fmt: skip
        row.owner, row.number, row.valid_until = control.owner, control.number, control.valid_until
        row.save()
        record(actor, Change.Verb.CHANGED, row, key, asdict(was), asdict(control))
        changed += 1
    return changed


# --- what each says ----------------------------------------------------------------------


def _said(policy: Policy, group: str, *keys: str) -> tuple[Fact, ...]:
    """What the bench is told, as facts."""
    found = []
    for key in keys:
        entry = told(group, key, policy, known=True)
        words = filled(entry.get("text") or entry["question"], entry.get("amounts", {}), metric)
        found.append(Fact(words.replace("{it}", "it"), entry["source"]))
    return tuple(found)


def _seals(policy: Policy) -> Poster:
    return Poster(
        "seals", "Look at every seal",
        headline="Fault? Repack in a new pouch.",
        panels=(
            Panel("Smooth, whole", seals.good(), "good"),
            Panel("Fold", seals.fold(), "fault"),
            Panel("Bubble", seals.bubble(), "fault"),
            Panel("Channel", seals.channel(), "fault"),
            Panel("Corner open", seals.corner(), "fault"),
            Panel("Item caught", seals.caught(), "fault"),
        ),
        columns=3,
        facts=(*_said(policy, "closed", "seal", "self-seal", "seal width"),
               Fact("A fault is no reason to seal it again: a pouch is for single use.",
                    told("closed", "seal", policy)["source"]),
               Fact("A channel through the seal, and an item caught in it, leave it open.",
                    PRACTICE)),
    )  # fmt: skip


def _peel(policy: Policy) -> Poster:
    return Poster(
        "chevron", "This way into the pouch",
        panels=(
            Panel("Handles to the chevron", pouches.handles_first(), "good"),
            Panel("Peeled there, handles first", pouches.peeled(), "good"),
            Panel("Tips to the chevron", pouches.tips_first(), "fault"),
        ),
        columns=1, upright=True,
        facts=(*_said(policy, "lying", "peel"), _tips(policy)),
    )  # fmt: skip


def _tips(policy: Policy) -> Fact:
    entry = told("lying", "tips", policy, tips="Tips without a protector lie",
                 where=policy.word("tips_in_pouch"))  # fmt: skip
    return Fact(entry["text"], entry["source"])


def _indicator(policy: Policy) -> Poster:
    entry = told("inside", "pouch", policy, pouch="pouch")
    return Poster(
        "indicator", "Indicator: seen, not hidden",
        panels=(
            Panel("Print to the film", pouches.to_the_film(), "good"),
            Panel("Under the instrument", pouches.hidden_strip(), "fault"),
            Panel("Print face down", pouches.face_down(), "fault"),
        ),
        columns=1, upright=True,
        facts=(
            Fact(f"{entry['text']} Inside: {policy.word('internal_indicator')}.",
                 f"{entry['source']}; {policy.source('internal_indicator')}"),
            Fact("Its printed side to the film, beside the box lock, not under the instrument.",
                 PRACTICE),
            *_said(policy, "inside", "double"),
        ),
    )  # fmt: skip


def _double(policy: Policy) -> Poster:
    return Poster(
        "double-pouch", "Pouch in a pouch",
        headline="Only pairs that the maker allows.",
        panels=(
            Panel("One size smaller, flat, free", pouches.one_in_the_other(), "good"),
            Panel("Film to film, paper to paper", pouches.film_to_film(), "good"),
            Panel("Inner pouch folded", pouches.folded_inner(), "fault"),
        ),
        columns=1, upright=True,
        facts=(
            *_said(policy, "package", "double: free", "double: facing"),
            Fact("The inner pouch is the next size down.",
                 told("package", "double: free", policy)["source"]),
            Fact("Double only where the maker of the pouches has validated the pair; a single "
                 "pouch is normally enough.", "ANSI/AAMI ST79, 8.3.4, as reported"),
        ),
    )  # fmt: skip


def _rack(policy: Policy) -> Poster:
    facing = policy.word("facing_in_chamber")
    pairs = facing == "film to film"
    return Poster(
        "rack", "Pouches stand on edge",
        panels=(
            Panel("On edge, with space", loading.on_edge(), "good"),
            Panel("Film to film" if pairs else "Paper to film", loading.facing(pairs), "good"),
            Panel("Stacked", loading.stacked(), "fault"),
            Panel("Too tight", loading.packed_tight(), "fault"),
        ),
        columns=2,
        facts=_said(policy, "loading", "edge", facing),
    )  # fmt: skip


def _load(policy: Policy) -> Poster:
    return Poster(
        "load", "Load with space",
        panels=(
            Panel("Sets flat, with space", loading.sets_flat(), "good"),
            Panel("Textile packs on edge", loading.textiles(), "good"),
            Panel("Heavy below", loading.heavy_below(), "good"),
            Panel("Sets on top of sets", loading.sets_stacked(), "fault"),
        ),
        columns=2,
        facts=_said(policy, "loading", "flat", "stacked", "lower"),
    )  # fmt: skip


def _envelope(policy: Policy) -> Poster:
    return _fold(
        policy, "envelope-fold", "Envelope fold", "For small, light packs.",
        ("Near, tip back", "Side, tip back", "Other side", "Tuck in, tape"), wraps.envelope(),
        "The envelope fold is for small, light packs opened in the hand.",
        "The order of the folds and the tips turned back.",
    )  # fmt: skip


def _square(policy: Policy) -> Poster:
    return _fold(
        policy, "square-fold", "Square fold", "For large, heavy packs.",
        ("Near, cuff", "One end", "Other end", "Far, tape"), wraps.square(),
        "The square fold is for large, heavy packs opened on a table.",
        "The order of the folds and the cuffs.",
    )  # fmt: skip


def _fold(
    policy: Policy, key: str, title: str, headline: str, words: Sequence[str],
    drawings: wraps.Steps, use: str, order: str,
) -> Poster:  # fmt: skip
    """Four steps of a wrap, numbered: what is said under each drawing; its use and its order."""
    return Poster(
        key, title, headline=headline,
        panels=tuple(
            Panel(said, drawn, n)
            for n, (said, drawn) in enumerate(zip(words, drawings, strict=True), 1)
        ),
        columns=2, upright=True,
        facts=(
            Fact(use, "PAHO sterilization manual 2009"),
            *_said(policy, "closed", "fit", "tape"),
            Fact(order, PRACTICE),
        ),
    )  # fmt: skip


def _weight(policy: Policy) -> Poster:
    limits = [(one, grams) for one in LIMITS
              if (grams := policy.number_or_none(one.name)) is not None]  # fmt: skip
    figures = tuple(Figure(kilograms(grams), f"= {pounds(grams)}, {one.words}")
                    for one, grams in limits)  # fmt: skip
    weighed = limits[0][0] if limits else LIMITS[0]
    shown = figures[0].amount if figures else "kg"
    return Poster(
        "weight", "A set weighs at most" if figures else "Weigh every set",
        headline="" if figures else "No limit of the house is set.",
        figures=figures,
        panels=(
            Panel(weighed.how, weighed.draw(shown), "good"),
            Panel("Heavier? Make two sets", loading.too_heavy(), "good"),
        ),
        columns=2,
        facts=(
            *(Fact(f"At most {metric(grams, 'g')}, {one.words}.", policy.source(one.name))
              for one, grams in limits),
            *_divided(policy),
            Fact("The lowest of this limit and of what the makers of container, basket, wrap and "
                 "sterilizer allow counts.", "510(k) summary K203177 as read; the makers' IFUs"),
            Fact("A set over it is made into two; a coordinator decides how.", PRACTICE),
        ),
    )  # fmt: skip


def _divided(policy: Policy) -> tuple[Fact, ...]:
    """How the limit on a full-size container's load goes for a smaller one."""
    if policy.number_or_none("load_limit_g") is None:
        return ()
    reading = policy.word("load_limit_reading")
    words = f"For a smaller container the limit on the load is divided: {reading}."
    return (Fact(words, policy.source("load_limit_reading")),)


def kilograms(grams: float) -> str:
    """A limit in kg, without noughts that say nothing.

    >>> kilograms(11339.81), kilograms(8500), kilograms(10000)
    ('11.34 kg', '8.5 kg', '10 kg')
    """
    return f"{grams / 1000:.2f}".rstrip("0").rstrip(".") + " kg"


def pounds(grams: float) -> str:
    """A limit in pounds, never above it.

    >>> pounds(11339.81), pounds(7000)
    ('25 lb', '15.4 lb')
    """
    tenths = math.floor(grams / G_A_POUND * 10 + 0.01) / 10
    return f"{tenths:g} lb"


DESIGNS = {
    design.key: design
    for design in (
        Design("seals", "Look at every seal", _seals),
        Design("chevron", "This way into the pouch", _peel),
        Design("indicator", "Indicator: seen, not hidden", _indicator),
        Design("double-pouch", "Pouch in a pouch", _double),
        Design("envelope-fold", "Envelope fold", _envelope),
        Design("square-fold", "Square fold", _square),
        Design("weight", "Weight limit of the house", _weight),
        Design("rack", "Pouches stand on edge", _rack),
        Design("load", "Load with space", _load),
    )
}
SHEET = "temperatures"
TITLES = {**{key: one.title for key, one in DESIGNS.items()}, SHEET: TEMPERATURES}
"""All that hangs on the wall, by its key: it has an owner, a number and a last day."""
