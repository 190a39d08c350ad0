"""Drawings on the narrowest phone: letters that can be read, and nothing across them."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Page

from tests.browser.screens import Screens
from tests.browser.site import Site

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser")]

LEAST_PX = 10.0
DRAWN = ["/instruments/HF-1042/", "/instruments/HF-1434/", "/instruments/HF-1364/",
         "/instruments/HF-1441/", "/sets/HF-S01/", "/sets/HF-S02/", "/sets/HF-S05/"]  # fmt: skip
"""A pouch, a wrap, a slim thing, a roll much too wide, a set in a container, two wrapped."""

LETTERS = """() => [...document.querySelectorAll('.scene text')].map(text => {
  const drawing = text.ownerSVGElement, scale = drawing.getScreenCTM().a;
  const inside = drawing.getBoundingClientRect(), box = text.getBoundingClientRect();
  return {words: text.textContent, size: parseFloat(getComputedStyle(text).fontSize) * scale,
          out: Math.max(inside.left - box.left, box.right - inside.right)};
})"""

CROSSED = """() => {
  const meet = (a, b) => a.x < b.x + b.width && b.x < a.x + a.width
    && a.y < b.y + b.height && b.y < a.y + a.height;
  const found = [];
  for (const drawing of document.querySelectorAll('.scene')) {
    const words = [...drawing.querySelectorAll('text')].map(text => {
      const box = text.getBBox(), size = parseFloat(getComputedStyle(text).fontSize);
      const base = parseFloat(text.getAttribute('y'));
      return {words: text.textContent, x: box.x, width: box.width, y: base - size * .68,
              height: size * .68};
    });
    const plates = [...drawing.querySelectorAll('.plate')].map(plate => plate.getBBox());
    for (const line of drawing.querySelectorAll('path:not(.plate), rect')) {
      const length = line.getTotalLength(), step = drawing.viewBox.baseVal.width / 200;
      for (let at = 0; at <= length; at += step) {
        const {x, y} = line.getPointAtLength(at), point = {x, y, width: 0, height: 0};
        for (const box of words)
          if (meet(box, point) && !plates.some(plate => meet(plate, point)))
            found.push(`${box.words}: ${line.className.baseVal}`);
      }
    }
    for (const one of words) for (const other of words)
      if (one !== other && meet(one, other)) found.push(`${one.words} on ${other.words}`);
  }
  return [...new Set(found)];
}"""


@pytest.fixture(scope="module")
def narrow(screens: Screens, site: Site) -> Iterator[Page]:
    with screens.one({"width": 320, "height": 640}) as page:
        site.sign_in(page, "technician")
        yield page


@pytest.mark.parametrize("path", DRAWN)
def test_letters_are_large_enough_and_nothing_crosses_them(
    site: Site, narrow: Page, path: str
) -> None:
    narrow.goto(f"{site.address}{path}")
    narrow.evaluate("for (const fold of document.querySelectorAll('details')) fold.open = true")
    letters = narrow.evaluate(LETTERS)
    assert letters and min(one["size"] for one in letters) >= LEAST_PX
    assert [one for one in letters if one["out"] > 0] == []
    assert narrow.evaluate(CROSSED) == []
