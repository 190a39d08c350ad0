"""The one stylesheet and the scripts: lines that can be read, nothing that nobody uses."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import tinycss2

from tests.browser.site import ROOT

STATIC = ROOT / "config" / "static"
WIDEST = 120
SHEET = (STATIC / "packbench.css").read_text()
DJANGOS = {"errorlist"}
"""Classes that Django's own templates bear."""
APPS = ("assembly", "catalog", "config", "reports")


@pytest.mark.parametrize("file", sorted(STATIC.glob("*.*s")), ids=lambda file: file.name)
def test_no_line_is_wider_than_a_screen(file: Path) -> None:
    lines = enumerate(file.read_text().splitlines(), start=1)
    assert [number for number, line in lines if len(line) > WIDEST] == []


def errors(nodes: list[tinycss2.ast.Node]) -> list[str]:
    """What cannot be read in rules and in the rules inside them, with its line."""
    found = []
    for node in nodes:
        if node.type == "error":
            found.append(f"{node.source_line}: {node.message}")
            continue
        found += errors([part for part in getattr(node, "prelude", []) if part.type == "error"])
        if node.type == "at-rule" and node.lower_at_keyword == "media":
            found += errors(tinycss2.parse_rule_list(node.content, True, True))
        elif node.type in ("qualified-rule", "at-rule") and node.content is not None:
            found += errors(tinycss2.parse_blocks_contents(node.content, True, True))
    return found


def test_the_sheet_is_read_to_its_end() -> None:
    assert errors(tinycss2.parse_stylesheet(SHEET, True, True)) == []


def test_every_value_that_is_used_is_set() -> None:
    used, named = set(re.findall(r"var\((--[\w-]+)", SHEET)), set(re.findall(r"(--[\w-]+):", SHEET))
    assert used == named


def test_colours_and_sizes_of_type_stand_in_the_tokens_alone() -> None:
    rules = re.sub(r"/\*.*?\*/|:root \{.*?\}", "", SHEET, flags=re.DOTALL)
    assert re.findall(r"#[0-9a-fA-F]{3,8}\b|font-size: *\d\S*", rules) == []


def test_every_class_is_used_somewhere() -> None:
    sheet = re.sub(r"/\*.*?\*/|url\([^)]*\)", "", SHEET, flags=re.DOTALL)
    selectors = re.findall(r"([^{};]*)\{", sheet)
    classes = {name for one in selectors for name in re.findall(r"\.([a-z][\w-]*)", one)}
    files = [file for app in APPS for file in (ROOT / app).rglob("*") if file.is_file()]
    text = " ".join(f.read_text() for f in files if f.suffix in (".html", ".py", ".js", ".toml"))
    words = set(re.findall(r"[\w-]+", text))
    assert len(classes) > 100
    assert sorted(classes - words - DJANGOS) == []
