"""What the page, count sheet, work card and label of a set say, as text."""

from __future__ import annotations

from dataclasses import dataclass, field

from django.test import Client

from assembly.judging.decisions import decide_for_set
from assembly.judging.facts_from_catalog import lines_of
from assembly.judging.recorded import decided_of
from assembly.rules.telling.decided import Decided
from catalog.models import InstrumentSet
from reports.drawing.cards.work import draw_work_card
from reports.drawing.sheets.count_sheets import draw_count_sheet
from reports.drawing.stocks import stock
from reports.gathering.count_sheets import built_sheet_document, count_sheet_document
from reports.gathering.labels.packages import package_label_document
from reports.gathering.work_cards import set_card
from tests.factories import bench as at
from tests.reports.examples import draw_label, page_texts, squeezed


@dataclass
class Said:
    """What is decided for a set and the text of each thing that says it; once it is packed, what
    its record has, the cycles that serve it, and what says that."""

    decided: Decided
    papers: dict[str, str]
    recorded: Decided | None = None
    serving: list[str] = field(default_factory=list)
    packed: dict[str, str] = field(default_factory=dict)


def lacking(words: str, papers: dict[str, str]) -> list[str]:
    """Where the words are not said, whatever their breaks and capitals."""
    wanted = squeezed(words).casefold()
    return [name for name, text in papers.items() if wanted not in squeezed(text).casefold()]


def said_of(one: InstrumentSet, client: Client) -> Said:
    """A set is looked at, printed, and packed where it may be."""
    assert one.current is not None
    answer = decide_for_set(one, lines_of(one.current), out=())
    said = Said(answer.decided, {
        "page": client.get(f"/sets/{one.code}/").content.decode(),
        "sheet": _text(draw_count_sheet(count_sheet_document(one, "T. Birkett"))),
        "card": _text(draw_work_card(set_card(one, "T. Birkett"))),
    })  # fmt: skip
    if answer.decision.recommended:
        package = at.signed(at.a_build(one))
        said.recorded, said.serving = decided_of(package, None), package.programmes
        said.packed = {
            "page": client.get(f"/packages/{package.code}/").content.decode(),
            "label": _text(draw_label(package_label_document(package), stock("label-100x50"))),
            "sheet": _text(draw_count_sheet(built_sheet_document(package, "T. Birkett"))),
        }
    return said


def _text(pdf: bytes) -> str:
    return " ".join(page_texts(pdf))
