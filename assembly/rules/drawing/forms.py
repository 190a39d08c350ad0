"""Outlines by form: schematic, ours, drawn from an instrument's length and width alone.

Each function draws one look as it lies, tips at the left (x 0), handle at the right, its
middle line at y 0, about ``length`` x ``width`` mm; ``outline_of`` makes it exactly so.
``turned`` says that it lies on its side. Finger rings are as large as fingers ask.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

from assembly.rules.drawing import forms_hinged, forms_plain, forms_room
from assembly.rules.drawing.looks import Look
from assembly.rules.drawing.shapes import Outline, stretched

Form = Callable[[float, float, bool], list[Outline]]

FORMS: dict[Look, Form] = {
    Look.SCISSORS: forms_hinged.scissors,
    Look.CLAMP: forms_hinged.clamp,
    Look.NEEDLE_HOLDER: forms_hinged.needle_holder,
    Look.LOOPED: forms_hinged.looped,
    Look.TOWEL_CLAMP: forms_hinged.towel_clamp,
    Look.GRASPER: forms_hinged.grasper,
    Look.LONG_SHAFT: forms_hinged.long_shaft,
    Look.TWEEZERS: forms_hinged.tweezers,
    Look.BAYONET: forms_hinged.bayonet,
    Look.RETRACTOR: forms_room.retractor,
    Look.DOUBLE_ENDED: forms_room.double_ended,
    Look.RIBBON: forms_room.ribbon,
    Look.BLADE: forms_room.blade,
    Look.FRAME: forms_room.frame,
    Look.SPREADER: forms_hinged.spreader,
    Look.POINTED: forms_hinged.pointed,
    Look.SUCTION: forms_room.suction,
    Look.STRAIGHT_TUBE: forms_room.straight_tube,
    Look.CANNULA: forms_room.cannula,
    Look.HANDLE: forms_plain.handle,
    Look.SCALPEL: forms_plain.scalpel,
    Look.CHISEL: forms_plain.chisel,
    Look.CURETTE: forms_plain.curette,
    Look.RASP: forms_plain.rasp,
    Look.ELEVATOR: forms_plain.elevator,
    Look.PROBE: forms_plain.probe,
    Look.RONGEUR: forms_hinged.rongeur,
    Look.BOWL: forms_plain.bowl,
    Look.KIDNEY: forms_plain.kidney,
    Look.SCOPE: forms_room.scope,
    Look.DEVICE: forms_plain.device,
    Look.MALLET: forms_plain.mallet,
    Look.CABLE: forms_plain.cable,
    Look.BOX: forms_plain.box,
}


@lru_cache(maxsize=512)
def outline_of(
    look: Look, length: float, width: float, turned: bool = False
) -> tuple[Outline, ...]:
    """The outline of a look, its corner at 0, 0, exactly ``length`` x ``width`` mm."""
    return tuple(stretched(FORMS[look](length, width, turned), length, width))
