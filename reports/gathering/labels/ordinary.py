"""Whether a stock is large enough: an ordinary label, tried on it before anybody packs for it."""

from __future__ import annotations

from django.utils import timezone

from assembly.judging.facts_from_catalog import policy_in_force
from reports.drawing.fitting import PrintRefused
from reports.drawing.labels.packages import plan_of
from reports.drawing.stocks import Stock
from reports.gathering.labels.packages import package_label


def why_no_ordinary_label(on: Stock) -> str:
    """Why the label of a common instrument, with what the policy in force asks of it, has no
    room on a stock; "" where it has."""
    today = timezone.localdate()
    document = package_label(
        policy_in_force(), packed_on=today, double=False, what="Needle holder, Mayo-Hegar, 180 mm",
        packed_by="Tam Birkett", barcode_text="PK-000001T", item_number="HF-1804",
        quantity="1 piece", package="Pouch, 150 x 300 mm", method="Steam 134 °C", department="OR 3",
        sterilizer="ST1", cycle="12", load="3", sterilized_on=today, expires_on=today,
    )  # fmt: skip
    try:
        plan_of(document, on)
    except PrintRefused as problem:
        return problem.reason
    return ""
