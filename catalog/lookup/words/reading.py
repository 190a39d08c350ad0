"""What came from the field, read once: what may be a code of our own, and what is wrong."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from catalog.scans.elements import IdentifierKind
from catalog.scans.scanning import Kind, Scan, read_scan

ASSET = "8004"
MAKERS = (Kind.GS1, Kind.HIBC, Kind.GTIN)


@dataclass(frozen=True, slots=True)
class Asked:
    """One question. ``codes`` are texts that may be a number or code of our own, whole;
    ``words`` is what a person reads again, without what the reader added."""

    scan: Scan
    codes: tuple[str, ...]

    @property
    def words(self) -> str:
        return self.scan.text

    @property
    def from_a_maker(self) -> bool:
        """Whether it is a GS1 or HIBC code, or a trade item number: no words to search by."""
        return self.scan.kind in MAKERS

    @property
    def hint(self) -> str:
        """What to set on a reader that marks its codes wrongly, though they are found; else ""."""
        if not self.scan.wrongly_marked:
            return ""
        return (f"The scanner marks “{self.words}” as a GS1 code, which it is not. It was found "
                "all the same. Set the scanner: see Scanner test.")  # fmt: skip

    @property
    def problem(self) -> str:
        """Why the scan must not be used and what to do; empty when it may."""
        if self.scan.problem and self.scan.wrongly_marked and self.words:
            return (f"“{self.words}” is not on record, and the scanner marks it as a GS1 code, "
                    "which it is not. Set the scanner: see Scanner test.")  # fmt: skip
        return self.scan.problem or ""

    def unknown(self, what: str = "instrument") -> str:
        """A good code of a maker that nobody put on record, in a sentence; ``what`` was wanted."""
        if not self.scan.identifiers:
            return self.scan.names_nothing
        doubts = "".join(f" {warning}" for warning in self.scan.warnings)
        if what != "instrument":
            return f"{self.scan.words} No {what} bears this code.{doubts}"
        return (f"{self.scan.words} No instrument bears this code. Find it by name and put the "
                f"code on its page.{doubts}")  # fmt: skip


def read_asked(
    raw: str, separator: str | None, prefixes: Callable[[], Iterable[str]] = tuple
) -> Asked:
    """Read what a scanner or a person typed, as it came. Never raises.

    ``prefixes`` are the GS1 company prefixes that the department's labels bear, asked for
    only where a code may be such a label.

    >>> read_asked("]d280040614141PK-0001239", None, lambda: ["0614141"]).codes
    ('PK-0001239',)
    >>> read_asked("*HF-1042*\\r", None).codes
    ('HF-1042',)
    """
    scan = read_scan(raw, separator)
    plain = scan.kind in (Kind.OWN, Kind.GTIN) or scan.wrongly_marked
    codes = [scan.text] if plain and scan.text else []
    return Asked(scan, (*codes, *_on_our_labels(scan, prefixes)))


def _on_our_labels(scan: Scan, prefixes: Callable[[], Iterable[str]]) -> list[str]:
    """What stands behind our own prefix in an asset number, with or without the reader's mark."""
    assets = [one.value for one in scan.identifiers if one.kind is IdentifierKind.GIAI]
    if scan.kind is Kind.OWN and scan.text.startswith(ASSET):
        assets.append(scan.text.removeprefix(ASSET))
    return [
        asset.removeprefix(prefix)
        for asset in assets
        for prefix in prefixes()
        if prefix and asset.startswith(prefix) and asset != prefix
    ]
