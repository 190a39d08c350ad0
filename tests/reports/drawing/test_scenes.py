"""A scene is the same on paper as on the screen, shape for shape."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest

from assembly.judging.decisions import drawn
from assembly.judging.scene_svg import PER_MM, svg
from assembly.rules.drawing.shapes import Polygon, Polyline, Rect, Scene, Text, points_of
from reports.drawing.measures import points
from reports.drawing.scenes import PENS, paint_scene
from tests.reports.drawing.card_examples import scene

CSS = Path(__file__).parents[3] / "config" / "static" / "packbench.css"


class Recorder:
    """A canvas that keeps what is drawn on it; what sets a pen goes by."""

    def __init__(self) -> None:
        self.paths: list[Recorder] = []
        self.moves: list[tuple[float, float]] = []
        self.words: list[tuple[str, float]] = []

    def beginPath(self) -> Recorder:  # noqa: N802
        return Recorder()

    def drawPath(self, path: Recorder, **how: int) -> None:  # noqa: N802
        self.paths.append(path)

    def moveTo(self, x: float, y: float) -> None:  # noqa: N802
        self.moves.append((x, y))

    lineTo = moveTo  # noqa: N815

    def roundRect(self, x: float, y: float, width: float, height: float, r: float) -> None:  # noqa: N802
        self.moves += [(x, y + height), (x + width, y)]

    def drawString(self, x: float, y: float, words: str) -> None:  # noqa: N802
        self.words.append((words, y))

    def __getattr__(self, name: str) -> object:
        return lambda *args, **kwargs: None


def painted(made: Scene, scale: float = 2.0) -> Recorder:
    canvas = Recorder()
    paint_scene(canvas, made, 0.0, 0.0, scale)
    return canvas


def corners(shape: Rect | Polygon | Polyline) -> list[tuple[float, float]]:
    if isinstance(shape, Rect):
        return [(shape.x, shape.y), (shape.x + shape.width, shape.y + shape.height)]
    return list(points_of(shape))


def test_paper_bears_each_shape_at_its_place() -> None:
    made, scale = scene(), 2.0
    drawn = [shape for shape in made.shapes if not isinstance(shape, Text)]
    paths = painted(made, scale).paths
    assert len(paths) == len(drawn)
    for path, shape in zip(paths, drawn, strict=True):
        expected = [(points(x) / scale, -points(y) / scale) for x, y in corners(shape)]
        assert path.moves == [pytest.approx(one) for one in expected]


def test_screen_bears_each_shape_at_its_place() -> None:
    made = scene()
    tags = re.findall(r"<(?:rect|path) [^>]*/>", svg(made))
    drawn = [shape for shape in made.shapes if not isinstance(shape, Text)]
    assert len(tags) == len(drawn)
    for tag, shape in zip(tags, drawn, strict=True):
        assert f'class="{shape.role}"' in tag
        assert read(tag) == [pytest.approx(one, abs=0.11) for one in corners(shape)]


def read(tag: str) -> list[tuple[float, float]]:
    """The corners that a rect or path of an SVG says, its steps added up."""
    number = r"-?\d+"
    if tag.startswith("<rect"):
        x, y, width, height = (int(re.search(rf' {k}="({number})"', tag)[1]) / PER_MM  # type: ignore[index]
                               for k in ("x", "y", "width", "height"))  # fmt: skip
        return [(x, y), (x + width, y + height)]
    found: list[tuple[float, float]] = []
    for ring in re.findall(r"M([^Mz\"]*)", tag):
        values = [int(value) / PER_MM for value in re.findall(number, ring)]
        for n in range(0, len(values), 2):
            x, y = found[-1] if n else (0.0, 0.0)
            found.append((x + values[n], y + values[n + 1]))
    return found


def test_both_say_the_same_words() -> None:
    made = scene()
    said = [shape.words for shape in made.shapes if isinstance(shape, Text)]
    assert [words for words, _ in painted(made).words] == said
    assert re.findall(r"<text [^>]*>([^<]*)</text>", svg(made)) == said


def test_every_role_has_a_pen_and_a_style() -> None:
    styles = CSS.read_text(encoding="utf-8")
    plain = {"dimension", "rule"}  # the line that every shape has
    roles = {shape.role for shape in scene().shapes if not isinstance(shape, Text)}
    assert roles <= set(PENS)
    assert all(f".scene .{role}" in styles for role in set(PENS) - plain - {"tray", "paper"})


def test_a_hole_stays_a_hole_on_the_screen() -> None:
    ring = Polygon((((0, 0), (9, 0), (9, 9)), ((3, 1), (8, 1), (8, 6))), "instrument")
    made = replace(scene(), shapes=(ring,))
    assert svg(made).count("M") == 2


def test_what_lies_above_the_first_layer_is_folded() -> None:
    layers = [replace(scene(), layer=n) for n in (1, 2, 3)]
    page = drawn(*layers, scene())
    assert page.index("<details>") > page.index("</svg>") and page.count("<svg") == 4
    assert "2 layers above, how the sheet folds" in page


def test_one_scene_alone_folds_nothing() -> None:
    assert "<details>" not in drawn(scene()) and drawn() == drawn(None) == ""
