"""What pages send of a package and of a box: by their codes, scanned or typed."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils import timezone

from assembly.ledger import Refused
from assembly.models import Package
from assembly.packages.search import package_at
from assembly.presses import Press, Sent
from catalog.forms.fields import DayField, WordsField
from catalog.scans.scanning import Kind, read_scan

LOT, EXPIRY = ("10", "lot"), ("17", "expiry")
"""How GS1 and HIBC call them."""


class OfPackage(Sent):
    """One package."""

    called = {"words": "package"}
    words = forms.CharField(required=False, strip=False)

    def clean_words(self) -> Package | None:
        return package_at(self.cleaned_data["words"])


class PackagePress(OfPackage, Press):
    """A press with one package."""


class Box(Press):
    """A box: its supply, and its lot with its date, typed or scanned.

    A scan of the box says both; what was typed beside it counts before the scan's.
    """

    supply = WordsField(60)
    lot = WordsField(400, strip=False)
    expires = DayField(required=False)

    def clean(self) -> dict[str, Any]:
        data = dict(self.cleaned_data)
        scan = read_scan(data.get("lot", ""), today=timezone.localdate())
        if scan.kind not in (Kind.GS1, Kind.HIBC):
            return data
        if scan.problem:
            raise Refused(scan.problem)
        said = {one.key: one for one in scan.elements}
        lot = next((said[key].value for key in LOT if key in said), "")
        if not lot:
            raise Refused("This code names no lot: type the lot as the box says it.")
        day = next((said[key].day for key in EXPIRY if key in said), None)
        return data | {"lot": lot, "expires": data.get("expires") or day}
