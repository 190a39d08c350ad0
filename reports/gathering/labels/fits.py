"""What code fits which stock, worked out on an ordinary label: for whoever chooses the symbol."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date

from reports.documents.giving_way import gave_way
from reports.documents.labels import LabelDocument
from reports.drawing.fitting import PrintRefused
from reports.drawing.labels.packages import plan_of
from reports.drawing.stocks import Stock
from reports.gathering.labels.packages import EVENT_RELATED

ORDINARY = LabelDocument(
    what="Scissors, Metzenbaum, curved, 180 mm", packed_by="Tam Birkett",
    packed_on=date(2026, 11, 25), barcode_text="PK-000001T", hospital="Hollin Fell Hospital",
    statement=EVENT_RELATED, item_number="HF-1042", quantity="1 piece",
    package="Pouch PF-100x300", method="S134-3 (steam 134 °C, 3 min)", sterilizer="ST1",
    cycle="3", sterilized_on=date(2026, 11, 26), lot_number="ST1-20261126-3",
    lot_holds=("sterilizer", "date", "cycle"),
)  # fmt: skip
"""Made up: the label of scissors in a load, with nothing special about it."""
SYMBOLS = {
    "Data Matrix": {"symbol": "data matrix"},
    "Code 128": {"symbol": "code 128"},
    "GS1 DataMatrix": {"gs1_prefix": "9501101"},
}


@dataclass(frozen=True, slots=True)
class Fits:
    """A symbol on a stock: how large it is, and what the label leaves out for it; or why not."""

    stock: str
    symbol: str
    size: str = ""
    left_out: tuple[str, ...] = ()
    why_not: str = ""

    @property
    def words(self) -> str:
        """What is left out, in words."""
        return "; ".join(self.left_out) or "nothing"


def what_fits(stocks: Iterable[Stock]) -> Iterator[Fits]:
    """Each symbol on each stock."""
    for on in stocks:
        for symbol, how in SYMBOLS.items():
            document = replace(ORDINARY, **how)  # type: ignore[arg-type]
            try:
                plan = plan_of(document, on)
            except PrintRefused as problem:
                yield Fits(on.name, symbol, why_not=problem.reason)
                continue
            module, width = plan.code_mm
            size = f"{width:.0f} mm wide, {module:.2f} mm a module"
            yield Fits(on.name, symbol, size, tuple(gave_way(document, plan.document)))
