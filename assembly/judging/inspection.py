"""What to look at before an instrument is counted, by its kind.

All prompts are common practice; no published source was read for any of them. The
instrument's IFU comes first. What the record does not say is asked about with "if".
"""

from __future__ import annotations

from dataclasses import dataclass

from catalog.models import Instrument

PRACTICE = "common practice, no source"
Tip = Instrument.Tip
INSULATED_WORDS = ("insulated", "monopolar", "bipolar", "laparoscopic", "diathermy")
POWERED_GROUPS = ("powered",)
POWERED_WORDS = ("cable", "cord", "drill", "saw", "handpiece", "battery")
CUTTING_WORDS = ("scissors", "shears")


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
    words = f"{instrument.name} {instrument.group} {instrument.also_known_as}".casefold()
    found = []
    if instrument.hinged is not False:
        found.append(HINGED if instrument.hinged else MAYBE_HINGED)
    if instrument.ratchet or (instrument.ratchet is None and instrument.hinged is not False):
        found.append(RATCHET if instrument.ratchet else MAYBE_RATCHET)
    if any(word in words for word in CUTTING_WORDS):
        found.append(CUTS)
    found += _tip(instrument)
    if instrument.lumen_mm is not None or instrument.lumen_length_mm is not None:
        found.append(LUMEN)
    if any(word in words for word in INSULATED_WORDS):
        found.append(INSULATED)
    if instrument.group.casefold() in POWERED_GROUPS or any(w in words for w in POWERED_WORDS):
        found.append(POWERED)
    return tuple(found)


def _tip(instrument: Instrument) -> list[Prompt]:
    by_tip = {Tip.SHARP: SHARP, Tip.FINE: FINE, Tip.TOOTHED: TOOTHED, Tip.UNKNOWN: MAYBE_SHARP}
    prompt = by_tip.get(Tip(instrument.tip))
    return [prompt] if prompt else []


DAMAGES = (
    "Does not close: tips do not meet",
    "Ratchet does not hold",
    "Blunt, or does not cut",
    "Bent or broken",
    "Rust, pitting or stain",
    "Insulation damaged",
    "Lumen blocked",
    "Residue that does not come off",
    "Part or screw missing",
)
"""Reasons offered for a damaged piece, one press each; anything else can be written."""
