"""What the label of a package says of its load and its life, and where it is stuck."""

from __future__ import annotations

import re
from calendar import monthrange
from collections.abc import Iterable
from datetime import date

from assembly.rules.policy.values import Policy

MONTHS_A_YEAR = 12


def lot_number(
    pattern: Iterable[str], *, sterilizer: str = "", day: date | None = None, cycle: str = ""
) -> str:
    """The lot number by ``pattern``: "sterilizer", "date", "day of year", "cycle", in any order.

    Blank when a part of it is not known: a lot number with a gap is none.

    >>> lot_number(["sterilizer", "date", "cycle"], sterilizer="A2", day=date(2026, 3, 6),
    ...            cycle="4")
    'A2-20260306-4'
    >>> lot_number(["day of year", "cycle"], day=date(2026, 3, 6), cycle="4")
    '2026.065-4'
    >>> lot_number(["sterilizer", "date"], day=date(2026, 3, 6))
    ''
    """
    known = {
        "sterilizer": sterilizer.strip(),
        "date": f"{day:%Y%m%d}" if day else "",
        "day of year": f"{day:%Y.%j}" if day else "",
        "cycle": cycle.strip(),
    }
    parts = [known[word] for word in pattern]
    return "-".join(parts) if all(parts) else ""


def use_by(packed_on: date, months: Iterable[int | None]) -> date | None:
    """The day up to which a package may be used, by the IFUs of all it is packed in.

    The shortest of the ``months`` that are known counts, from the day of packing: it is
    never later than the cycle's. None where no IFU gives a time: the package is then
    sterile until something happens to it.

    >>> use_by(date(2026, 3, 6), [6, None, 12]), use_by(date(2026, 8, 31), [6])
    (datetime.date(2026, 9, 6), datetime.date(2027, 2, 28))
    >>> use_by(date(2026, 3, 6), [None]) is None
    True
    """
    known = [number for number in months if number is not None]
    return after_months(packed_on, min(known)) if known else None


def after_months(day: date, months: int) -> date:
    """The same day ``months`` later, or the month's last day where there is none such.

    >>> after_months(date(2026, 1, 31), 1), after_months(date(2026, 3, 6), 12)
    (datetime.date(2026, 2, 28), datetime.date(2027, 3, 6))
    """
    year, month = divmod(day.year * MONTHS_A_YEAR + day.month - 1 + months, MONTHS_A_YEAR)
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))


MOST_TRAYS = 99
"""A number of identical sets beyond this is a slip. Our own bound."""
_TRAY = re.compile(r"(?:tray|no\.?|#)?\s*(\d{1,2})(?:\s*(?:of|/)\s*(\d{1,2}))?", re.IGNORECASE)


def tray_words(text: str) -> str | None:
    """Which of several identical sets it is, as labels write it; None where it cannot be read.

    >>> tray_words("2/3"), tray_words(" Tray 2 of 3 "), tray_words("2"), tray_words("")
    ('2 of 3', '2 of 3', '2', '')
    >>> tray_words("4 of 3"), tray_words("0"), tray_words("red")
    (None, None, None)
    """
    if not text.strip():
        return ""
    found = _TRAY.fullmatch(text.strip())
    if found is None:
        return None
    number, most = int(found[1]), int(found[2] or MOST_TRAYS)
    if not 1 <= number <= most:
        return None
    return f"{number} of {most}" if found[2] else str(number)


ON_FILM = (
    "Stick the label on the film side, not over a seal, the peel end, the indicator or the "
    "instrument; never write on the paper side."
)
PLACEMENT = {
    "pouch": ON_FILM,
    "roll": ON_FILM,
    "wrap": "Stick the label on the indicator tape, not on the wrap.",
    "container": "Put the label into the container's label holder.",
}
"""Where a label goes, by kind of package.

Sources: ANSI/AAMI ST79 8.3.2 as quoted by OSAP 2015 for the film side; for tape and label
holder: common practice, no source.
"""


def sticks(label: tuple[float, float], film: tuple[float, float], policy: Policy) -> bool:
    """Whether a label (width, height) has a place on a film (length, width), both in mm: across
    it or along it, no wider than it, and over no more of its length than the policy allows.

    >>> from assembly.rules.policy.values import default_policy
    >>> policy = default_policy(date(2026, 11, 27))
    >>> [sticks(label, film, policy) for label, film in
    ...  (((50, 25), (105, 59)), ((100, 50), (105, 59)), ((100, 50), (250, 84)))]
    [True, False, True]
    """
    (wide, high), (length, width) = label, film
    most = policy.number("label_film_share") * length
    return any(across <= width and along <= most for across, along in ((wide, high), (high, wide)))


def placement(kind: str) -> str:
    """Where the label of this kind of package goes; blank for a kind nobody named."""
    return PLACEMENT.get(kind, "")
