"""A count sheet as a PDF: black on white, to be ticked and signed by hand.

First everything is measured and shared out over pages, then it is drawn, so that every
page can say which of how many it is. A line is never parted between pages.
"""

from __future__ import annotations

import io
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from typing import Any, BinaryIO, Literal

from assembly.rules.days import time_words
from reports.documents.count_sheets import (
    CountSheetDocument,
    CountSheetLine,
    pieces_words,
)
from reports.drawing.files import (
    Entry,
    Nowhere,
    Progress,
    bookmark,
    contents_first,
    new_canvas,
    paper_points,
)
from reports.drawing.fitting import PrintRefused, Style, fit
from reports.drawing.fonts import Face
from reports.drawing.measures import points
from reports.drawing.painting import Piece, box_height, paint_block, paint_reversed, stacked
from reports.drawing.sheets.ends import ending
from reports.drawing.sheets.heads import head, running_head
from reports.drawing.sheets.parts import SECTION_HEIGHT, Columns, columns, headings, section
from reports.drawing.sheets.rows import row

Paper = Literal["A4", "letter"]
PAPERS = ("A4", "letter")
SIDE = points(13.0)
TOP = points(10.0)
BOTTOM = points(14.0)
FOOT = Style(Face.REGULAR, 8.0, 6.5, 1.25)
STATE = Style(Face.BOLD, 9.0, 7.5, 1.2)
USUAL_PAGES = 2
"""A sheet of more has its lines closer, where that saves a page: two are turned over once."""
GO_WITH_THE_END = 3
"""Lines that go with the end onto a page of its own, so that it is not empty."""


@dataclass(frozen=True, slots=True)
class _Item:
    """A row, with the title of its section over it where it is the first of it (points)."""

    piece: Piece
    title: str = ""
    starts: bool = False

    @property
    def continues(self) -> bool:
        """Whether the title is named again where a page begins with it."""
        return bool(self.title) and not self.starts


@dataclass(slots=True)
class _Page:
    """What stands on one page, in order, and how much room is left (points)."""

    room: float
    items: list[_Item] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class _Frame:
    """The measured frame of every page."""

    document: CountSheetDocument
    width: float
    height: float
    places: Columns
    headings: Piece
    head: Piece
    running: Piece
    ending: Piece
    close: bool = False

    @property
    def room(self) -> float:
        return self.height - TOP - BOTTOM - self.headings.height

    @property
    def first_room(self) -> float:
        return self.room - self.head.height

    @property
    def next_room(self) -> float:
        return self.room - self.running.height

    def needs(self, item: _Item, *, first: bool) -> float:
        """The height of an item, with its section's title again where a page begins with it."""
        return item.piece.height + (SECTION_HEIGHT if first and item.continues else 0.0)


def draw_count_sheet(document: CountSheetDocument, paper: Paper = "A4") -> bytes:
    """``document`` as a PDF on A4 or letter paper.

    PrintRefused names the line and the field that cannot be printed as it is.
    """
    out = io.BytesIO()
    title = f"Count sheet {document.set_code}: {document.set_name}"
    canvas = new_canvas(out, _size(paper), title)
    _paint_sheet(canvas, document, _size(paper))
    canvas.save()
    return out.getvalue()


def write_count_sheets(
    out: BinaryIO,
    documents: Iterable[CountSheetDocument],
    paper: Paper = "A4",
    *,
    left_out: Iterable[str] = (),
    progress: Progress = lambda done: None,
) -> list[str]:
    """Many sheets in one file, in order, with bookmarks and a table of contents in front.

    The documents are taken one at a time. One that cannot be printed is named in the
    contents with the reason, as are ``left_out``, read when the last one is drawn; the
    others are printed. Cancelled when ``progress`` raises it. Returns a sentence for each
    document that was refused.
    """
    size = _size(paper)
    canvas = new_canvas(out, size, "Count sheets")
    entries: list[Entry] = []
    refused: list[str] = []
    for done, document in enumerate(documents, start=1):
        entry = Entry(document.set_code, document.set_name, canvas.getPageNumber())
        try:
            _paint_sheet(canvas, document, size, entry)
            entries.append(entry)
        except PrintRefused as refusal:
            refused.append(f"{document.set_code} {document.set_name}: {refusal}")
        progress(done)
    contents_first(canvas, entries, [*left_out, *refused], size, "Count sheets")
    canvas.showOutline()
    canvas.save()
    return refused


def _size(paper: str) -> tuple[float, float]:
    if paper not in PAPERS:
        raise PrintRefused("paper", f"{paper!r} is not known; take A4 or letter.")
    return paper_points(paper)


def _paint_sheet(
    canvas: Any, document: CountSheetDocument, size: tuple[float, float], entry: Entry | None = None
) -> None:
    """Every page of one sheet.

    What is not measured yet (running heads and feet) is first painted on nothing, so that a
    sheet that is refused leaves no trace.
    """
    width, height = size
    inner = width - 2 * SIDE
    photos = any(line.photo for line in document.lines)
    places = columns(inner, document.tick_columns, photos=photos)
    frame = _Frame(
        document, width, height, places, headings(places),
        head(document, inner), running_head(document, inner), ending(document, inner),
    )  # fmt: skip
    pages = _share_out(frame)
    if len(pages) > USUAL_PAGES:
        closer = replace(frame, close=True)
        if len(fewer := _share_out(closer)) < len(pages):
            frame, pages = closer, fewer
    frame = replace(frame, ending=ending(document, inner, pages[-1].room))
    for number, page in enumerate(pages, start=1):
        _paint_page(Nowhere(), frame, replace(page, items=[]), number, len(pages))
    for number, page in enumerate(pages, start=1):
        if entry and number == 1:
            bookmark(canvas, entry)
        _paint_page(canvas, frame, page, number, len(pages))
        canvas.showPage()


def _share_out(frame: _Frame) -> list[_Page]:
    """Lines to pages. A title never stands last on a page, the end is not parted, and some lines
    go with it onto a page of its own."""
    if frame.first_room < 0:
        raise PrintRefused("notices", "they are longer than a page. Shorten them.")
    pages = [_Page(frame.first_room)]
    for item in _items(frame):
        if frame.needs(item, first=not pages[-1].items) > pages[-1].room:
            pages.append(_Page(frame.next_room))
        pages[-1].room -= frame.needs(item, first=not pages[-1].items)
        pages[-1].items.append(item)
    if frame.ending.height > pages[-1].room:
        pages.append(_Page(frame.next_room))
    pages[-1].room -= frame.ending.height
    if len(pages) > 1:
        _fill_up(pages[-1], pages[-2], frame)
    return pages


def _fill_up(last: _Page, before: _Page, frame: _Frame) -> None:
    """The last page gets lines of the page before it, until some stand there with the end."""
    while len(before.items) > 1 and len(last.items) < GO_WITH_THE_END:
        item = before.items[-1]
        if frame.needs(item, first=True) > last.room:
            return
        last.items.insert(0, before.items.pop())
        taken = (frame.needs(each, first=each is item) for each in last.items)
        last.room = frame.next_room - frame.ending.height - sum(taken)


def _items(frame: _Frame) -> Iterator[_Item]:
    """Every row, and the titles of sections that have none."""
    for part in frame.document.sections:
        title = part.title.strip()
        pieces = pieces_words(part.lines) if part.lines else "no lines"
        heading = [section(title, pieces, frame.places)] if title else []
        if title and not part.lines:
            yield _Item(heading[0])
        for place, line in enumerate(part.lines):
            starts = bool(title) and place == 0
            rows = [*heading, _row(line, frame)] if starts else [_row(line, frame)]
            yield _Item(stacked(rows), title, starts)


def _row(line: CountSheetLine, frame: _Frame) -> Piece:
    """One line, refused when it would not fit on a page of its own."""
    content = row(line, frame.places, close=frame.close)
    if content.height > frame.next_room - SECTION_HEIGHT:
        raise PrintRefused(f"line {line.number}", "its words are longer than a page. Shorten them.")
    return content


def _paint_page(canvas: Any, frame: _Frame, page: _Page, number: int, count: int) -> None:
    canvas.setStrokeGray(0)
    top = frame.height - TOP
    over = frame.head if number == 1 else frame.running
    over.paint(canvas, SIDE, top)
    top -= over.height
    if page.items:
        table = stacked([frame.headings, *_under_the_headings(frame, page)])
        table.paint(canvas, SIDE, top)
        top -= table.height
    if number == count:
        frame.ending.paint(canvas, SIDE, top)
    _paint_foot(canvas, frame, f"Page {number} of {count}")


def _under_the_headings(frame: _Frame, page: _Page) -> Iterator[Piece]:
    if page.items[0].continues:
        yield section(f"{page.items[0].title}, continued", "", frame.places)
    yield from (item.piece for item in page.items)


def _paint_foot(canvas: Any, frame: _Frame, page: str) -> None:
    document, inner = frame.document, frame.width - 2 * SIDE
    top = points(9.0) + FOOT.largest
    pages = fit("page number", page, Style(Face.SEMIBOLD, 9.0, 9.0), inner / 4, 1)
    paint_block(canvas, pages, frame.width - SIDE - pages.width, top)
    state = document.revision_state
    words = (
        f"{document.set_code}, revision {document.revision}, {state}. "
        f"Printed {time_words(document.printed_at)} by {document.printed_by}"
    )
    left = SIDE
    if not document.is_current:
        mark = fit("state of the revision", state.upper(), STATE, inner / 3, 1)
        paint_reversed(canvas, mark, left, top + (box_height(mark) - FOOT.largest) / 2)
        left += mark.width + points(5.0)
    room = frame.width - SIDE - left - pages.width - points(4.0)
    paint_block(canvas, fit("printed by", words, FOOT, room, 2), left, top)
