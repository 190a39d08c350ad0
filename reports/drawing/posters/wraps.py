"""The envelope fold and the square fold, seen from above: the sheet after each of four steps.

White: the side of the sheet that lies up. Gray: a tip or an edge turned back. Our own drawing
of the folds that the drawing of a wrapped pack numbers.
"""

from __future__ import annotations

from assembly.rules.drawing.shapes import Outline, Point, Polygon, Polyline, Ring, Scene, block
from reports.drawing.posters.figures import arrow, moved, scene

SIZE = 124.0
MIDDLE = (62.0, 62.0)
HALF = 60.0  # of the sheet, from its middle to a corner or an edge
ACROSS, UP = 30.0, 18.0  # half of the pack with its sides: where the folds lie
TAPE = (26.0, 7.0)
Steps = tuple[Scene, Scene, Scene, Scene]


def envelope() -> Steps:
    """The sheet lies on its corner."""
    near, side = HALF - UP, HALF - ACROSS
    top = UP - near + 14
    tip: Ring = ((-14, top), (14, top), (0, top + 14))
    cut = UP - (near - ACROSS)
    first = _flap(((-near, UP), (near, UP), (14, top), (-14, top)), tip)
    on_left = _flap(((-ACROSS, UP), (near, UP), (14, top), (-14, top), (-ACROSS, cut)), tip)
    on_both = _flap(((-ACROSS, UP), (ACROSS, UP), (ACROSS, cut), (14, top), (-14, top),
                     (-ACROSS, cut)), tip)  # fmt: skip
    left, right = _side_flap(-1, near, side), _side_flap(1, near, side)
    last: Ring = ((-ACROSS, -UP), (ACROSS, -UP), (ACROSS, -UP + near - side - 2), (8, UP - 5),
                  (-8, UP - 5), (-ACROSS, -UP + near - side - 2))  # fmt: skip
    edge: Ring = ((-near, UP), (-HALF, 0), (0, -HALF))
    return (
        _step((*edge, (HALF, 0), (near, UP)), ((-near, UP), (0, HALF), (near, UP)), first,
              ((0, 54), (0, 12)), "The near corner over the pack"),
        _step(((-ACROSS, UP), (-ACROSS, -side), (0, -HALF), (HALF, 0), (near, UP)),
              ((-ACROSS, -side), (-HALF, 0), (-near, UP), (-ACROSS, UP)), [*on_left, *left],
              ((-54, 2), (-16, 2)), "One side over it"),
        _step(((-ACROSS, UP), (-ACROSS, -side), (0, -HALF), (ACROSS, -side), (ACROSS, UP)),
              ((ACROSS, -side), (HALF, 0), (near, UP), (ACROSS, UP)), [*on_both, *left, *right],
              ((54, 2), (16, 2)), "The other side over it"),
        _closed(((-ACROSS, -side), (0, -HALF), (ACROSS, -side)), last,
                "The far corner over it, tucked in, taped"),
    )  # fmt: skip


def square() -> Steps:
    """The sheet lies on its edge."""
    high = HALF - 6
    left, right = _end_flap(-1, high), _end_flap(1, high)
    return (
        _step(_box(-HALF, -high, HALF, UP), _box(-HALF, UP, HALF, high), _near(-HALF, HALF),
              ((0, 50), (0, 8)), "The near edge over the pack"),
        _step(_box(-ACROSS, -high, HALF, UP), _box(-HALF, -high, -ACROSS, UP),
              [*_near(-ACROSS, HALF), *left], ((-54, -30), (-20, -30)), "One end over it"),
        _step(_box(-ACROSS, -high, ACROSS, UP), _box(ACROSS, -high, HALF, UP),
              [*_near(-ACROSS, ACROSS), *left, *right], ((54, -30), (20, -30)),
              "The other end over it"),
        _closed(_box(-ACROSS, -high, ACROSS, -UP), _box(-ACROSS, -UP, ACROSS, 9),
                "The far edge over it, taped"),
    )  # fmt: skip


def _box(left: float, top: float, right: float, bottom: float) -> Ring:
    return ((left, top), (right, top), (right, bottom), (left, bottom), (left, top))


def _near(left: float, right: float) -> list[Outline]:
    """The near edge of the square fold over the pack, with its cuff."""
    return _flap(_box(left, -12, right, UP), _box(left, -12, right, -3))


def _end_flap(side: int, high: float) -> list[Outline]:
    """An end of the square fold over the pack, with its cuff."""
    return _flap(_box(side * ACROSS, -high, side * 6, UP), _box(side * 6, -high, side * 13, UP))


def _flap(flap: Ring, back: Ring) -> list[Outline]:
    """What was folded over, and of it what was turned back."""
    return [Polygon((flap,), "sheet"), Polygon((back,), "seal")]


def _side_flap(side: int, near: float, reach: float) -> list[Outline]:
    """A side of the envelope over the pack, its tip turned back."""
    flap: Ring = ((side * ACROSS, -reach), (side * ACROSS, UP), (side * (2 * ACROSS - near), UP),
                  (side * 9, 6.75), (side * 9, -9))  # fmt: skip
    return _flap(flap, ((side * 9, -9), (side * 9, 6.75), (side * 17, 1)))


def _step(
    sheet: Ring, ghost: Ring, flaps: list[Outline], way: tuple[Point, Point], title: str
) -> Scene:
    """The sheet as it lies after a step, where the flap was, and the way it went."""
    pack = block(-ACROSS + 4, -UP + 2, 2 * ACROSS - 8, 2 * UP - 4, "box", 2)
    edge = block(-ACROSS + 4, -UP + 2, 2 * ACROSS - 8, 2 * UP - 4, "detail", 2)
    shapes = [Polygon((sheet,), "paper"), pack, edge, *flaps, Polyline(ghost, "fold"),
              *arrow(*way, 4.0)]  # fmt: skip
    return scene(SIZE, SIZE, moved(shapes, *MIDDLE), title)


def _closed(ghost: Ring, last: Ring, title: str) -> Scene:
    """The closed pack with its tape of stripes."""
    (wide, high), (x, y) = TAPE, (-TAPE[0] / 2, UP - 16)
    tape = [block(x, y, wide, high, "indicator")]
    tape += [block(x + 3 + 5 * n, y, 2, high, "mark") for n in range(5)]
    body = block(-ACROSS, -UP, 2 * ACROSS, 2 * UP, "paper", 1)
    shapes = [body, Polygon((last,), "sheet"), *tape, Polyline(ghost, "fold"),
              *arrow((0, -50), (0, -10), 4.0)]  # fmt: skip
    return scene(SIZE, SIZE, moved(shapes, *MIDDLE), title)
