"""Outlines of what holds room open or reaches in: retractors, tubes, scopes. See ``forms``."""

from __future__ import annotations

from assembly.rules.drawing.shapes import (
    Outline,
    Polygon,
    Polyline,
    block,
    curve,
    disc,
    hoop,
    limb,
    oval,
)

SIDES = (-1, 1)


def retractor(length: float, width: float, turned: bool) -> list[Outline]:
    """A handle with a loop at its end; its blade from above, or bent down where it is turned."""
    thick = min(4.0, width * 0.12)
    grip = min(length * 0.11, width * (0.3 if turned else 0.48))
    y = grip * 0.7 - width / 2 if turned else 0.0
    loop, start = hoop(length - grip, y, grip, grip * 0.7, thick), length - 2 * grip + thick / 2
    if turned:
        spine = [
            (length * 0.14, width * 0.48, thick * 0.4),
            (length * 0.05, width * 0.42, thick * 0.7),
            (length * 0.02, width * 0.1, thick),
            (length * 0.09, y + width * 0.1, thick),
            (length * 0.26, y, thick),
            (length * 0.6, y, thick),
            (start, y, thick),
        ]
        return [limb(spine), loop]
    lip = ((length * 0.04, -width * 0.36), (length * 0.04, width * 0.36))
    return [
        limb([(length * 0.16, y, thick), (start, y, thick)]),
        loop,
        block(0, -width / 2, length * 0.2, width, corner=width * 0.12),
        Polyline(lip, "detail"),
    ]


def double_ended(length: float, width: float, turned: bool) -> list[Outline]:
    """A flat middle with an eye in it, both ends turned to the same side."""
    thick = min(3.5, width * 0.12)
    y = -width / 2 + thick
    spine = [
        (length * 0.05, width * 0.5 - thick, thick * 0.5),
        (length * 0.02, 0, thick * 0.8),
        (length * 0.1, y, thick),
        (length * 0.3, y, thick),
    ]
    ends = [limb(spine), limb([(length - x, yy, half) for x, yy, half in spine])]
    middle = limb(
        [
            (length * 0.2, y, thick * 0.9),
            (length * 0.5, y, thick * 1.5),
            (length * 0.8, y, thick * 0.9),
        ]
    )
    return [*ends, middle, disc(length * 0.5, y, length * 0.06, thick * 0.55, "detail")]


def ribbon(length: float, width: float, turned: bool) -> list[Outline]:
    corner = min(width / 2, length / 2)
    lines = [((length * at, -width * 0.36), (length * at, width * 0.36)) for at in (0.1, 0.9)]
    return [
        block(0, -width / 2, length, width, corner=corner),
        *(Polyline(line, "detail") for line in lines),
    ]


def blade(length: float, width: float, turned: bool) -> list[Outline]:
    body = [
        (0, 0),
        (length * 0.03, -width * 0.38),
        (length * 0.4, -width * 0.5),
        (length * 0.72, -width * 0.4),
        (length * 0.8, -width * 0.12),
        (length, -width * 0.12),
    ]
    knots = [*body, *((x, -y) for x, y in reversed(body[1:]))]
    slot = oval(length * 0.9, 0, length * 0.05, width * 0.04)
    line = ((length * 0.1, -width * 0.3), (length * 0.16, 0.0), (length * 0.1, width * 0.3))
    return [
        Polygon((curve(knots, closed=True), slot), "instrument"),
        Polyline(curve(line), "detail"),
    ]


def frame(length: float, width: float, turned: bool) -> list[Outline]:
    """A rack with two arms that spread, a blade at the end of each."""
    bar = min(6.0, width * 0.05, length * 0.05)
    left = length - bar * 3.6
    rack = block(left, -width / 2, bar * 2.4, width, corner=bar * 0.8)
    teeth = [
        Polyline(((left, width * y / 20), (left + bar, width * y / 20)), "detail")
        for y in range(-6, 7)
    ]
    arms = [
        limb(
            [
                (left + bar, side * width * 0.38, bar),
                (length * 0.4, side * width * 0.42, bar),
                (length * 0.2, side * width * 0.36, bar),
            ]
        )
        for side in SIDES
    ]
    blades = [
        block(
            0, side * width * 0.36 - width * 0.11, length * 0.34, width * 0.22, corner=width * 0.04
        )
        for side in SIDES
    ]
    knobs = [
        block(
            left + bar * 2.4,
            side * width * 0.38 - bar * 1.4,
            bar * 1.2,
            bar * 2.8,
            corner=bar * 0.5,
        )
        for side in SIDES
    ]
    return [*arms, *blades, rack, *teeth, *knobs]


def suction(length: float, width: float, turned: bool) -> list[Outline]:
    """A bent tube, the plate for a thumb, and the ribbed end that takes the hose."""
    thick = min(4.0, width * 0.11, length * 0.03)
    y = width / 2 - thick * 2.2
    tube = limb(
        [
            (thick, -width / 2 + thick, thick * 0.8),
            (length * 0.16, -width * 0.28, thick * 0.8),
            (length * 0.42, width * 0.16, thick),
            (length * 0.66, y, thick),
            (length * 0.8, y, thick),
        ]
    )
    tip = disc(thick * 1.2, -width / 2 + thick * 1.2, thick * 1.4, thick * 1.2)
    plate = limb(
        [
            (length * 0.6, y, thick * 1.6),
            (length * 0.7, y, thick * 2.2),
            (length * 0.82, y, thick * 1.6),
        ]
    )
    hose = [
        limb(
            [(length * (0.82 + 0.045 * n), y, thick * 1.9), (length * (0.87 + 0.045 * n), y, thick)]
        )
        for n in range(3)
    ]
    hole = disc(length * 0.7, y, thick * 0.7, thick * 0.7, "joint")
    return [tube, tip, plate, *hose, hole]


def straight_tube(length: float, width: float, turned: bool) -> list[Outline]:
    """A straight tube with holes along it, its hub at the end across."""
    thick = min(4.5, width * 0.28, length * 0.05)
    holes = [
        disc(
            length * (0.06 + 0.05 * n),
            (thick * 0.4) * (-1) ** n,
            thick * 0.25,
            thick * 0.25,
            "joint",
        )
        for n in range(7)
    ]
    hub = [
        (length * 0.86, -width / 2),
        (length * 0.89, -width / 2),
        (length * 0.92, -thick * 1.4),
        (length, -thick * 1.1),
        (length, thick * 1.1),
        (length * 0.92, thick * 1.4),
        (length * 0.89, width / 2),
        (length * 0.86, width / 2),
    ]
    return [
        limb([(thick, 0, thick), (length * 0.88, 0, thick)]),
        *holes,
        Polygon((tuple(hub),), "instrument"),
    ]


def cannula(length: float, width: float, turned: bool) -> list[Outline]:
    """A short tube with its valve at the end, an obturator's point and cap beyond it."""
    tube = width * 0.15
    point = Polygon(
        (((0, 0), (length * 0.08, -tube * 0.85), (length * 0.08, tube * 0.85)),), "instrument"
    )
    tap = limb(
        [(length * 0.72, -width * 0.3, width * 0.06), (length * 0.62, -width * 0.42, width * 0.05)]
    )
    return [
        point,
        block(length * 0.07, -tube, length * 0.55, 2 * tube),
        *(
            Polyline(((length * at, -tube), (length * at, tube)), "detail")
            for at in (0.3, 0.34, 0.38, 0.42)
        ),
        tap,
        block(length * 0.6, -width * 0.36, length * 0.24, width * 0.72, corner=width * 0.08),
        block(length * 0.84, -width * 0.26, length * 0.06, width * 0.52),
        block(length * 0.9, -width * 0.5, length * 0.1, width, corner=width * 0.14),
    ]


def scope(length: float, width: float, turned: bool) -> list[Outline]:
    """A long shaft, its body with the post for the light, the cup for the eye."""
    y, shaft = width * 0.14, min(5.0, width * 0.1)
    post = block(length * 0.76, -width / 2, length * 0.035, width * 0.5, corner=width * 0.03)
    return [
        block(0, y - shaft, length * 0.72, 2 * shaft),
        post,
        Polyline(((length * 0.012, y - shaft), (length * 0.03, y + shaft)), "detail"),
        block(length * 0.7, y - width * 0.18, length * 0.16, width * 0.36, corner=width * 0.05),
        block(length * 0.85, y - width * 0.12, length * 0.09, width * 0.24),
        block(length * 0.93, y - width * 0.36, length * 0.07, width * 0.72, corner=width * 0.1),
    ]
