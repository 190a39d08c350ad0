"""What the asking page sends: what is missing, for where, by when, how urgent."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from django.http import HttpRequest, QueryDict
from django.utils import timezone
from django.utils.dateparse import parse_datetime

from assembly.ledger import Refused
from assembly.models import Package, Request
from assembly.persons import Person
from assembly.requests.asking import Ask, Wanted, known_spelling
from catalog.models import Instrument, InstrumentSet

SESSION_KEY = "requests"
WHEN = (("15", "In 15 min"), ("30", "In 30 min"), ("60", "In 1 hour"), ("120", "In 2 hours"),
        ("other", "At a time"))  # fmt: skip
DEFAULT_WHEN = "60"
LONGEST_NOTE = 200
EARLIEST_YEAR, LATEST_YEAR = 1970, 9000


def wanted_from(data: QueryDict) -> Wanted:
    """``item``, ``whole`` or ``words``; ``from`` and ``package`` say what came up short.

    Refused for a number that the catalog does not know: nothing else is taken for it.
    """
    instrument = _known(Instrument, "item_number", data.get("item", ""))
    whole = _known(InstrumentSet, "code", data.get("whole", ""))
    missing_from = _known(InstrumentSet, "code", data.get("from", ""))
    package = _known(Package, "code", data.get("package", ""))
    words = "" if instrument or whole else " ".join(data.get("words", "").split())[:LONGEST_NOTE]
    return Wanted(instrument, whole, words, missing_from, package)


def _known(model: Any, field: str, value: str) -> Any:
    value = value.strip()
    if not value:
        return None
    found = model.objects.filter(**{f"{field}__iexact": value}).first()
    if found is None:
        raise Refused(f"“{value}” is not on record. Look it up again, or ask in your own words.")
    return found


def needed_by(data: QueryDict) -> datetime:
    """The moment chosen: so many minutes from now, or the time written.

    Refused where the time cannot be read.
    """
    when = data.get("when", DEFAULT_WHEN)
    if when in dict(WHEN) and when != "other":
        return timezone.now() + timedelta(minutes=int(when))
    text = data.get("time", "")
    moment = moment_from(text)
    if moment is None:
        raise Refused(f"“{text}” is no time. Choose the day and the time it is needed by.")
    return moment


def moment_from(text: str) -> datetime | None:
    """The moment that was written, by the department's clock; None where it is none that
    can be kept in every time zone."""
    try:
        moment = parse_datetime(text)
    except ValueError:
        return None
    if moment is None or not EARLIEST_YEAR <= moment.year <= LATEST_YEAR:
        return None
    return moment if timezone.is_aware(moment) else timezone.make_aware(moment)


def ask_from(data: QueryDict) -> Ask:
    """The rest of the page. Refused says which field cannot be read."""
    pieces = data.get("quantity", "1")
    if not (pieces.isascii() and pieces.isdigit() and len(pieces) < 4):
        raise Refused(f"“{pieces}” is no number of pieces.")
    return Ask(
        department=data.get("department", ""),
        where=data.get("where", ""),
        needed_by=needed_by(data),
        quantity=int(pieces),
        urgency=data.get("urgency", Request.Urgency.ROUTINE),
        note=data.get("note", "")[:LONGEST_NOTE],
    )


# --- whose requests: chosen and remembered ----------------------------------------------


def remembered(request: HttpRequest, person: Person) -> dict[str, str]:
    """Department and place of this session, else of what the person asked for last."""
    kept = request.session.get(SESSION_KEY)
    if kept is not None:
        return {name: str(kept.get(name, "")) for name in ("department", "where")}
    last = Request.objects.filter(asker_id=person.pk).order_by("-pk").first()
    return {
        "department": last.department if last else "",
        "where": last.where if last else "",
    }


def remember(request: HttpRequest, department: str, where: str | None = None) -> None:
    """Keeps the department for this session, and the place where one is given."""
    kept = request.session.get(SESSION_KEY) or {}
    chosen = {"department": known_spelling(department)[:40]}
    if where is not None:
        chosen["where"] = " ".join(where.split())[:40]
    request.session[SESSION_KEY] = {**kept, **chosen}
