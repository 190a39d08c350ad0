"""The shift's board for the wall: the same words as its page."""

from __future__ import annotations

from assembly.planning.words import NOT_KNOWN, Begin, Said, said_of
from assembly.planning.work import board
from reports.documents.boards import BoardDocument, BoardPart
from reports.documents.lists import ListColumn, Row

BY = ListColumn("By", 1.9)


def board_document(made_by: str) -> BoardDocument:
    """The board as it is now."""
    said = said_of(board())
    foot = f"Made {said.now} by {made_by}; it changes with each step. {said.hands}. {NOT_KNOWN}"
    idle = f" Filled, and needed for none of this: {', '.join(said.idle)}." if said.idle else ""
    return BoardDocument(f"Work ahead, {said.now} to {said.until}", tuple(
        part for part in _parts(said) if part.rows
    ), foot + idle)  # fmt: skip


def _parts(said: Said) -> tuple[BoardPart, ...]:
    what = ListColumn("What", 4.2)
    return (
        BoardPart("Begin by", (BY, what, ListColumn("Due, for", 2.0), ListColumn("Takes", 1.1),
                               ListColumn("Load", 1.3)),
                  tuple(_begin(one) for one in said.begin)),
        BoardPart("Start by", (BY, ListColumn("Sterilizer", 1.8), ListColumn("Load", 6.8)),
                  tuple((_late(one.by, one.late), f"{one.sterilizer} {one.cycle} {one.code}",
                         _joined(", ".join(one.inside), one.doubt)) for one in said.runs)),
        BoardPart("Release by", (BY, ListColumn("Load", 2.4), ListColumn("For", 6.2)),
                  tuple((_late(one.by, one.late), one.load, ", ".join(one.inside))
                        for one in said.out)),
        BoardPart("Nobody can tell", (ListColumn("", 4.4), ListColumn("Due", 1.3),
                                      ListColumn("Why", 4.2)),
                  tuple((f"{one.what} {one.number}", one.due, one.why) for one in said.unknown)),
    )  # fmt: skip


def _begin(one: Begin) -> Row:
    act = "" if one.act == "begin" else f" {one.act}"
    assumed = "" if one.own or one.act != "begin" else " assumed"
    return (_late(f"{one.by}{act}", one.late), _joined(f"{one.what} {one.number}", one.note),
            f"{one.due} {one.where}".strip(), f"{one.length}{assumed}" if one.length else "packed",
            one.going)  # fmt: skip


def _late(by: str, late: str) -> str:
    return f"{by}, {late}" if late else by


def _joined(*words: str) -> str:
    return "; ".join(filter(None, words))
