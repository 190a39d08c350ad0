"""What every template keeps to: its width, its folder, and whose templates it may use."""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path

import pytest
from django.template import engines

ROOT = Path(__file__).resolve().parent.parent.parent
FLOORS = ["config", "catalog", "assembly", "reports"]
"""From the ground up: the shell of every page is config's and uses none of the others'."""
WIDEST = 120
MOST_IN_A_FOLDER = 16

FILES = {
    str(path.relative_to(ROOT / app / "templates")): (app, path)
    for app in FLOORS
    for path in sorted((ROOT / app / "templates").rglob("*.html"))
}
USED = re.compile(r"\{%\s*(?:include|extends)\s+(\S+)")
LOADED = re.compile(r"\{%\s*load\s+([^%]+?)\s*%\}")


def app_of(name: str) -> str:
    """The app that a template's name belongs to; a folder named after none is the shell's."""
    first = name.split("/")[0]
    return first if first in FLOORS else "config"


def higher_ones(app: str, text: str) -> list[str]:
    """The templates and tag libraries in ``text`` that belong to a higher floor than ``app``."""
    libraries = engines["django"].engine.libraries  # type: ignore[attr-defined]
    named = [(name, app_of(name.strip("\"'"))) for name in USED.findall(text)]
    for names in LOADED.findall(text):
        named += [(name, libraries.get(name, "").split(".")[0]) for name in names.split()]
    floor = FLOORS.index(app)
    return [name for name, owner in named if owner in FLOORS and FLOORS.index(owner) > floor]


def test_there_are_templates() -> None:
    assert {app for app, _ in FILES.values()} == set(FLOORS)


@pytest.mark.parametrize("name", FILES)
def test_it_uses_no_template_of_a_higher_app(name: str) -> None:
    app, path = FILES[name]
    assert higher_ones(app, path.read_text()) == []


@pytest.mark.parametrize("name", FILES)
def test_it_names_each_template_that_it_uses(name: str) -> None:
    assert all(used[0] in "\"'" for used in USED.findall(FILES[name][1].read_text()))


@pytest.mark.parametrize("name", FILES)
def test_no_line_is_wider_than_a_screen(name: str) -> None:
    lines = FILES[name][1].read_text().splitlines()
    assert [n for n, line in enumerate(lines, 1) if len(line) > WIDEST] == []


def test_no_folder_is_crowded() -> None:
    folders = Counter(path.parent for _, path in FILES.values())
    assert {folder.name for folder, n in folders.items() if n > MOST_IN_A_FOLDER} == set()


@pytest.mark.parametrize("app, text", [
    ("catalog", '{% include "assembly/decisions/_bar.html" %}'),
    ("catalog", "{% load requests %}"),
    ("assembly", '{% extends "reports/list.html" %}'),
    ("config", '{% include "catalog/_field.html" %}'),
])  # fmt: skip
def test_a_look_upward_is_found(app: str, text: str) -> None:
    assert len(higher_ones(app, text)) == 1


@pytest.mark.parametrize("app, text", [
    ("catalog", '{% extends "base.html" %}'),
    ("reports", '{% load requests history %}{% include "assembly/decisions/_bar.html" %}'),
])  # fmt: skip
def test_a_look_downward_is_allowed(app: str, text: str) -> None:
    assert higher_ones(app, text) == []
