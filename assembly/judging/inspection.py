"""What to look at before an instrument is counted, by its kind.

All prompts are common practice; no published source was read for any of them. The
instrument's IFU comes first. What the record does not say is asked about with "if".
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from catalog.models import Instrument

PRACTICE = "common practice, no source"
Tip = Instrument.Tip
INSULATED_WORDS = ("insulated", "monopolar", "bipolar", "laparoscopic", "diathermy")
POWERED_GROUPS = ("powered",)
POWERED_WORDS = ("cable", "cord", "drill", "saw", "handpiece", "battery")
CUTTING_WORDS = ("scissors", "shears")
EDGED_WORDS = (*CUTTING_WORDS, "curette", "osteotome", "chisel", "gouge", "rongeur", "cutter")


@dataclass(frozen=True, slots=True)
class Prompt:
    """One thing to look at, and for which kind of instrument."""

    kind: str
    words: str


EVERY = Prompt("every piece", "No residue, stain, rust or crack, also in corners and joints.")
HINGED = Prompt("hinged", "Moves freely; the tips meet.")
MAYBE_HINGED = Prompt("hinged", "If it is hinged: it moves freely, the tips meet.")
RATCHET = Prompt("ratchet", "The ratchet holds at every tooth.")
MAYBE_RATCHET = Prompt("ratchet", "If it has a ratchet: it holds at every tooth.")
CUTS = Prompt("scissors", "Cuts cleanly to the tip and does not snag.")
SHARP = Prompt("sharp", "Point and edge without a nick or burr; then cover it.")
MAYBE_SHARP = Prompt("sharp", "If it has a point or edge: no nick, no burr; then cover it.")
FINE = Prompt("fine tips", "Tips straight and in line under the magnifier.")
TOOTHED = Prompt("toothed", "Teeth whole, none missing, and they mesh.")
LUMEN = Prompt("lumen", "Clear from end to end, and nothing comes out on the brush.")
INSULATED = Prompt("insulated", "Insulation whole over its full length: test it.")
POWERED = Prompt("powered", "Cable and plug whole, couplings dry, runs and stops.")


def prompts_for(instrument: Instrument) -> tuple[Prompt, ...]:
    """What to look at on one instrument, in the order of the work."""
    return (EVERY, *works_prompts(instrument))


def works_prompts(instrument: Instrument) -> tuple[Prompt, ...]:
    """What to look at for whether it works, beside that it is clean and whole."""
    found = []
    if instrument.hinged is not False:
        found.append(HINGED if instrument.hinged else MAYBE_HINGED)
    if _may_have_a_ratchet(instrument):
        found.append(RATCHET if instrument.ratchet else MAYBE_RATCHET)
    if _says(instrument, CUTTING_WORDS):
        found.append(CUTS)
    found += _tip(instrument)
    if _has_a_lumen(instrument):
        found.append(LUMEN)
    if _says(instrument, INSULATED_WORDS):
        found.append(INSULATED)
    if _powered(instrument):
        found.append(POWERED)
    return tuple(found)


def _says(instrument: Instrument, words: tuple[str, ...]) -> bool:
    said = f"{instrument.name} {instrument.group} {instrument.also_known_as}".casefold()
    return any(word in said for word in words)


def has_an_edge(instrument: Instrument) -> bool:
    """Whether it is one that is sharpened, as far as its name and its tip tell."""
    return instrument.tip == Tip.SHARP or _says(instrument, EDGED_WORDS)


def _powered(instrument: Instrument) -> bool:
    return instrument.group.casefold() in POWERED_GROUPS or _says(instrument, POWERED_WORDS)


def _may_have_a_ratchet(instrument: Instrument) -> bool:
    if instrument.ratchet is None:
        return instrument.hinged is not False
    return instrument.ratchet


def _has_a_lumen(instrument: Instrument) -> bool:
    return instrument.lumen_mm is not None or instrument.lumen_length_mm is not None


def _tip(instrument: Instrument) -> list[Prompt]:
    by_tip = {Tip.SHARP: SHARP, Tip.FINE: FINE, Tip.TOOTHED: TOOTHED, Tip.UNKNOWN: MAYBE_SHARP}
    prompt = by_tip.get(Tip(instrument.tip))
    return [prompt] if prompt else []


DAMAGES: tuple[tuple[str, Callable[[Instrument], bool]], ...] = (
    ("Does not close: tips do not meet", lambda one: one.hinged is not False),
    ("Ratchet does not hold", lambda one: _may_have_a_ratchet(one)),
    ("Blunt, or does not cut", lambda one: one.tip != Tip.BLUNT or _says(one, CUTTING_WORDS)),
    ("Bent or broken", lambda one: True),
    ("Rust, pitting or stain", lambda one: True),
    ("Insulation damaged", lambda one: _says(one, INSULATED_WORDS) or _powered(one)),
    ("Lumen blocked", lambda one: one.hollow is not False or _has_a_lumen(one)),
    ("Residue that does not come off", lambda one: True),
    ("Part or screw missing", lambda one: one.hinged is not False or one.parts_apart != ""),
)
"""Reasons that a damaged piece may have, and whether an instrument can: only where the record
says that it cannot is one left out. Common practice, no source."""


def damages_of(instrument: Instrument) -> list[str]:
    """What may be wrong with this instrument, one press each; anything else can be written."""
    return [words for words, may in DAMAGES if may(instrument)]
