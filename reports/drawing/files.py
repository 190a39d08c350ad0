"""One PDF file: its canvas, its bookmarks, its table of contents, and a long run's progress.

Preview and print both come from here: what is seen on the screen is the file that prints.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, BinaryIO

from reportlab.pdfgen.canvas import Canvas

from reports.documents.papers import PrintError
from reports.drawing.fitting import Block, Style, fit, on_one_line
from reports.drawing.fonts import Face, tidied
from reports.drawing.measures import points
from reports.drawing.painting import paint_block, shared_out
from reports.drawing.streaming import StreamedCanvas

AUTHOR = "Packbench"
PAPERS_MM = {
    "A4": (210.0, 297.0),
    "letter": (215.9, 279.4),
}
"""Width and height in mm. Sources: ISO 216; ANSI/ASME Y14.1."""

Progress = Callable[[int], None]
"""Told how many documents are drawn. What it raises stops the drawing."""

SIDE = points(15.0)
TOP = points(15.0)
BOTTOM = points(19.0)
TITLE = Style(Face.BOLD, 18.0, 14.0, 1.2)
ENTRY = Style(Face.REGULAR, 10.5, 7.0, 1.2)
LOOK_FIRST = Style(Face.BOLD, 12.0, 12.0, 1.4)
NOT_PRINTED = Style(Face.REGULAR, 9.0, 7.0, 1.25)
ENTRY_STEP = points(7.0)
CODE_WIDTH = points(32.0)
PAGE_WIDTH = points(16.0)


class Nowhere:
    """A canvas that keeps nothing: painting on it finds every refusal before the first mark."""

    def __getattr__(self, name: str) -> Callable[..., Nowhere]:
        return self._nothing

    def _nothing(self, *args: Any, **options: Any) -> Nowhere:
        return self


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of a table of contents: a document, and its first page counted from 1."""

    code: str
    name: str
    page: int

    @property
    def mark(self) -> str:
        """The bookmark at the document's first page."""
        return f"page-{self.page}"


def new_canvas(out: BinaryIO, size: tuple[float, float], title: str) -> Canvas:
    """A canvas that writes each page to ``out`` when it is shown, printed at actual size. Viewers
    show its ``title``. Sizes in points."""
    canvas = StreamedCanvas(out, size)
    canvas.setTitle(tidied(title))
    canvas.setSubject("")
    canvas.setAuthor(AUTHOR)
    canvas.setCreator(AUTHOR)
    canvas.setViewerPreference("PrintScaling", "None")
    canvas.setViewerPreference("DisplayDocTitle", "true")
    return canvas


def paper_points(paper: str) -> tuple[float, float]:
    """Width and height of a paper in points; PrintError when it is not known.

    >>> [round(side) for side in paper_points("A4")]
    [595, 842]
    """
    if paper not in PAPERS_MM:
        raise PrintError(f"Not printed. Paper: {paper!r} is not known; take one of "
                         f"{', '.join(PAPERS_MM)}.")  # fmt: skip
    across, high = PAPERS_MM[paper]
    return points(across), points(high)


def bookmark(canvas: Any, entry: Entry) -> None:
    """A bookmark at the page begun, shown in the reader's outline."""
    canvas.bookmarkPage(entry.mark)
    canvas.addOutlineEntry(f"{entry.code} {entry.name}", entry.mark, level=0)


def contents_first(
    canvas: Any,
    entries: Sequence[Entry],
    left_out: Sequence[str],
    size: tuple[float, float],
    title: str,
) -> None:
    """Draw the table of contents and move its pages before all others.

    ``left_out`` are sentences: what could not be printed, and why.
    """
    across, high = size
    inner = across - 2 * SIDE
    refused = [fit("not printed", words, NOT_PRINTED, inner) for words in left_out]
    if refused:
        refused.insert(0, fit("not printed", "Look at this first", LOOK_FIRST, inner, 1))
    lines: list[Entry | Block] = [*refused, *entries]  # what was refused stands first
    sheets = shared_out(lines, high - TOP - BOTTOM - points(16), _height)
    for number, items in enumerate(sheets, start=1):
        top = high - TOP
        paint_block(canvas, fit("title", title, TITLE, inner, 1), SIDE, top)
        top -= points(16)
        for item in items:
            if isinstance(item, Block):
                paint_block(canvas, item, SIDE, top)
            else:
                _paint_entry(canvas, item, len(sheets), top, across)
            top -= _height(item)
        foot = fit("page number", f"Contents, page {number} of {len(sheets)}", NOT_PRINTED, inner)
        paint_block(canvas, foot, across - SIDE - foot.width, points(14))
        canvas.showPage()
    pages = canvas._doc.Pages.pages
    pages[:] = pages[len(pages) - len(sheets) :] + pages[: len(pages) - len(sheets)]


def _height(item: Entry | Block) -> float:
    if isinstance(item, Block):
        return item.height + points(1)
    return max(ENTRY_STEP, _code(item).height + points(1))


def _code(entry: Entry) -> Block:
    return fit("code", entry.code, ENTRY, CODE_WIDTH - points(3))


def _paint_entry(canvas: Any, entry: Entry, before: int, top: float, across: float) -> None:
    """Code, name and page over a dotted rule; a link to the page."""
    right = across - SIDE
    code = _code(entry)
    name = on_one_line("name", entry.name, ENTRY, right - PAGE_WIDTH - SIDE - CODE_WIDTH)
    page = fit("page", str(entry.page + before), ENTRY, PAGE_WIDTH, 1)
    paint_block(canvas, code, SIDE, top)
    paint_block(canvas, name, SIDE + CODE_WIDTH, top)
    paint_block(canvas, page, right - page.width, top)
    canvas.saveState()
    canvas.setDash(0.5, 2.5)
    canvas.setLineWidth(0.5)
    bottom = top - ENTRY.largest * ENTRY.leading
    canvas.line(SIDE + CODE_WIDTH + name.width + 4, bottom + 3, right - page.width - 4, bottom + 3)
    canvas.restoreState()
    canvas.linkRect("", entry.mark, (SIDE, bottom, right, top), Border="[0 0 0]")
