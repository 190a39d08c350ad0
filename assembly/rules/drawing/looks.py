"""How an instrument is drawn: a rule from its form on record and the words of its name.

Drawn for recognition, never from a picture. Where neither says what it is, nothing is
guessed: None, and the drawing says that the outline is not known.
"""

from __future__ import annotations

import re
from enum import StrEnum

from assembly.rules.facts.instruments import Instrument
from catalog.vocabulary import Form


class Look(StrEnum):
    """The outlines that can be drawn."""

    SCISSORS = "scissors"
    CLAMP = "clamp"
    NEEDLE_HOLDER = "needle holder"
    LOOPED = "forceps with ring jaws"
    TOWEL_CLAMP = "towel clamp"
    GRASPER = "tissue forceps"
    LONG_SHAFT = "ring handle on a shaft"
    TWEEZERS = "thumb forceps"
    BAYONET = "bayonet forceps"
    RETRACTOR = "hand-held retractor"
    DOUBLE_ENDED = "double-ended retractor"
    RIBBON = "malleable retractor"
    BLADE = "retractor blade"
    FRAME = "retractor frame"
    SPREADER = "self-retaining retractor"
    POINTED = "self-retaining retractor, one prong a side"
    SUCTION = "suction tube"
    STRAIGHT_TUBE = "straight tube"
    CANNULA = "cannula"
    HANDLE = "handle"
    SCALPEL = "scalpel handle"
    CHISEL = "chisel or osteotome"
    CURETTE = "curette"
    RASP = "rasp"
    ELEVATOR = "elevator"
    PROBE = "probe or sound"
    RONGEUR = "rongeur"
    BOWL = "round basin"
    KIDNEY = "kidney basin"
    SCOPE = "scope"
    DEVICE = "powered device"
    MALLET = "mallet"
    CABLE = "coiled cable"
    BOX = "box"


STRUNG = (
    Look.SCISSORS,
    Look.CLAMP,
    Look.NEEDLE_HOLDER,
    Look.LOOPED,
    Look.TOWEL_CLAMP,
    Look.GRASPER,
)
"""What is put on a stringer by its finger rings."""

WORDS: dict[Form, tuple[tuple[Look, str], ...]] = {
    Form.RINGS: (
        (Look.LONG_SHAFT, "laparoscopic|endoscopic|arthroscopic"),
        (Look.SCISSORS, "scissors?|shears"),
        (Look.NEEDLE_HOLDER, "needle (holder|driver)s?"),
        (Look.TOWEL_CLAMP, "towel"),
        (Look.LOOPED, "sponge|ring forceps|ovum|foerster"),
        (Look.GRASPER, "allis|babcock|duval|tissue"),
        (Look.CLAMP, "clamps?|hemostats?|haemostats?"),
    ),
    Form.TWEEZERS: (
        (Look.BAYONET, "bayonet"),
        (Look.TWEEZERS, "tweezers|(thumb|dressing) forceps"),
    ),
    Form.RETRACTOR: (
        (Look.RIBBON, "malleable|ribbon"),
        (Look.FRAME, "frame|ring retractor"),
        (Look.POINTED, "gelpi"),
        (Look.SPREADER, "self-retaining|weitlaner|spreader"),
        (Look.BLADE, "blade"),
        (Look.DOUBLE_ENDED, "double-ended|army-navy|senn"),
        (Look.RETRACTOR, "retractors?"),
    ),
    Form.TUBE: (
        (Look.CANNULA, "cannula|trocar|obturator"),
        (Look.STRAIGHT_TUBE, "poole|dilator"),
        (Look.SUCTION, "suction|yankauer|frazier"),
    ),
    Form.HANDLE: (
        (Look.SCALPEL, "scalpel|knife|blade handle"),
        (Look.CHISEL, "osteotomes?|chisels?|gouges?"),
        (Look.CURETTE, "curettes?|curets?|spoon"),
        (Look.RASP, "rasps?|files?"),
        (Look.ELEVATOR, "elevators?|raspatory"),
        (Look.PROBE, "probes?|sounds?|directors?"),
    ),
    Form.RONGEUR: ((Look.RONGEUR, "rongeurs?|cutters?|bone[ -]holding"),),
    Form.BASIN: (
        (Look.KIDNEY, "kidney|emesis"),
        (Look.BOWL, "basins?|bowls?|cups?"),
    ),
    Form.SCOPE: (
        (Look.SCOPE, "laparoscope|arthroscope|cystoscope|hysteroscope|endoscope|telescope"),
    ),
    Form.POWERED: ((Look.DEVICE, "drill|saw|handpiece"),),
    Form.BOX: (
        (Look.MALLET, "mallets?|hammers?"),
        (Look.CABLE, "cables?|cords?|leads?"),
    ),
}  # fmt: skip
"""The words of a name that tell, by form; of one form the first that is there counts."""

PLAIN = {
    Form.RINGS: Look.CLAMP,
    Form.TWEEZERS: Look.TWEEZERS,
    Form.RETRACTOR: Look.RETRACTOR,
    Form.TUBE: Look.SUCTION,
    Form.HANDLE: Look.HANDLE,
    Form.RONGEUR: Look.RONGEUR,
    Form.BASIN: Look.BOWL,
    Form.SCOPE: Look.SCOPE,
    Form.POWERED: Look.DEVICE,
    Form.BOX: Look.BOX,
}
"""What a form is drawn as where no word of the name says more."""


def look_of(instrument: Instrument) -> Look | None:
    """How it is drawn: by its form on record, else by words of its name; None if neither tells.

    >>> look_of(Instrument(name="Mayo scissors"))
    <Look.SCISSORS: 'scissors'>
    >>> look_of(Instrument(name="Mystery hook")) is None
    True
    """
    name, form = instrument.name.lower(), instrument.form
    if form is not None:
        return _named(name, form) or PLAIN[form]
    found = [look for one in WORDS if (look := _named(name, one))]
    if not found and re.search(r"\bforceps\b", name) and instrument.hinged is not None:
        return Look.CLAMP if instrument.hinged else Look.TWEEZERS
    return found[0] if len(found) == 1 else None


def _named(name: str, form: Form) -> Look | None:
    looks = (look for look, words in WORDS[form] if re.search(rf"\b({words})\b", name))
    return next(looks, None)
