"""What fits which stock, tried with an ordinary label before anybody packs for it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from django.utils import timezone

from assembly.judging.facts_from_catalog import policy_in_force
from reports.documents.giving_way import gave_way
from reports.documents.labels import LabelDocument
from reports.drawing.fitting import PrintRefused
from reports.drawing.labels.packages import plan_of
from reports.drawing.stocks import Stock
from reports.gathering.labels.packages import package_label

PLAIN, LINEAR = "data matrix", "code 128"
SYMBOLS = {
    "Data Matrix": (PLAIN, ""),
    "Code 128": (LINEAR, ""),
    "GS1 DataMatrix": (PLAIN, "9501101"),
}
"""Each symbol that a policy may choose: its name there, and a company prefix for an example."""


def ordinary_label() -> LabelDocument:
    """The label of a common instrument in a load, with what the policy in force asks of it."""
    today = timezone.localdate()
    return package_label(
        policy_in_force(), packed_on=today, double=False, what="Needle holder, Mayo-Hegar, 180 mm",
        packed_by="Tam Birkett", barcode_text="PK-000001T", item_number="HF-1804",
        quantity="1 piece", package="Pouch, 150 x 300 mm", method="Steam 134 °C", department="OR 3",
        sterilizer="ST1", cycle="12", load="3", sterilized_on=today, expires_on=today,
    )  # fmt: skip


def why_no_ordinary_label(on: Stock) -> str:
    """Why an ordinary label has no room on a stock; "" where it has."""
    try:
        plan_of(ordinary_label(), on)
    except PrintRefused as problem:
        return problem.reason
    return ""


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
    ordinary = ordinary_label()
    for on in stocks:
        for name, (symbol, prefix) in SYMBOLS.items():
            document = replace(ordinary, symbol=symbol, gs1_prefix=prefix)
            try:
                plan = plan_of(document, on)
            except PrintRefused as problem:
                yield Fits(on.name, name, why_not=problem.reason)
                continue
            module, width = plan.code_mm
            size = f"{width:.0f} mm wide, {module:.2f} mm a module"
            yield Fits(on.name, name, size, tuple(gave_way(document, plan.document)))
