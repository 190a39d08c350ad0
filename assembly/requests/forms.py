"""What the asking page sends: what is missing, for where, by when, how urgent."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any, cast

from django import forms
from django.http import HttpRequest, QueryDict
from django.utils import timezone
from django.utils.dateparse import parse_datetime

from assembly.ledger import Refused
from assembly.models import Package, Request
from assembly.packages.forms import OfPackage
from assembly.persons import Person
from assembly.presses import KnownField, Press, Reasoned, Sent
from assembly.requests.asking import Ask, Wanted, known_spelling, urgency_for
from catalog.forms.fields import WholeField, WordsField
from catalog.models import Instrument, InstrumentSet

SESSION_KEY = "requests"
WHEN = (("5", "Now: the case waits"), ("15", "In 15 min"), ("30", "In 30 min"),
        ("60", "In 1 hour"), ("120", "In 2 hours"), ("other", "At a time"))  # fmt: skip
DEFAULT_WHEN = "60"
LONGEST_NOTE = 200
UNKNOWN = "“{text}” is not on record. Look it up again, or ask in your own words."
NO_TIME = "“{text}” is no time. Choose the day and the time it is needed by."
EARLIEST_YEAR, LATEST_YEAR = 1970, 9000


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


class MomentField(forms.CharField):
    """A day and time; ``problem`` is what Refused says, with the ``{text}`` that was read."""

    def __init__(self, problem: str) -> None:
        self.problem = problem
        super().__init__()

    def to_python(self, value: Any) -> Any:
        text = super().to_python(value) or ""
        moment = moment_from(text)
        if moment is None:
            raise Refused(self.problem.format(text=text))
        return moment


class WantedSent(Sent):
    """``item``, ``whole`` or ``words``; ``from`` and ``package`` say what came up short.

    Refused for a number that the catalog does not know: nothing else is taken for it.
    """

    item = KnownField(Instrument.objects.all(), "item_number", UNKNOWN, required=False)
    whole = KnownField(InstrumentSet.objects.all(), "code", UNKNOWN, required=False)
    package = KnownField(Package.objects.all(), "code", UNKNOWN, required=False)
    words = WordsField(LONGEST_NOTE)

    def __init__(self, data: QueryDict) -> None:
        super().__init__(data)
        self.fields["from"] = self.fields["whole"]


def wanted_from(data: QueryDict) -> Wanted:
    """What is missing, as the page sends it."""
    sent = WantedSent.read(data)
    words = "" if sent["item"] or sent["whole"] else " ".join(sent["words"].split())
    return Wanted(sent["item"], sent["whole"], words, sent["from"], sent["package"])


def needed_by(data: QueryDict) -> datetime:
    """The moment chosen: so many minutes from now, or the time written.

    Refused where the time cannot be read.
    """
    when = data.get("when", DEFAULT_WHEN)
    if when in dict(WHEN) and when != "other":
        return timezone.now() + timedelta(minutes=int(when))
    moment: datetime = MomentField(NO_TIME).clean(data.get("time", ""))
    return moment


class AskSent(Press):
    """The rest of the page. Refused says which field cannot be read."""

    quantity = WholeField("number of pieces", absent=1)
    department = WordsField()
    where = WordsField()
    note = WordsField(LONGEST_NOTE)
    tell = forms.BooleanField(required=False)

    def clean(self) -> dict[str, Any]:
        if self.errors:
            return self.cleaned_data
        by = needed_by(cast(QueryDict, self.data))
        sent = {**self.cleaned_data, "needed_by": by, "urgency": urgency_for(by)}
        return {"key": sent.pop("key"), "asked": Ask(**sent)}


class Away(OfPackage, Reasoned):
    """A package that goes, if one is scanned, and why fewer go."""

    def clean_words(self) -> Package | None:
        return super().clean_words() if self.cleaned_data["words"].strip() else None


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
