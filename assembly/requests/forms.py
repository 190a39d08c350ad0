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
from assembly.requests.asking import Ask, Wanted, known_spelling
from catalog.forms.fields import WholeField, WordsField, row_number
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


def lines_from(data: QueryDict) -> list[tuple[Wanted, int]]:
    """What is missing and how many of each, as the page sends it; one line in words, or with
    no name where nothing was named yet.

    ``item`` once for each line; of each, ``quantity-NUMBER`` and ``instead-NUMBER``.
    """
    sent = WantedSent.read(data)
    opened = {"missing_from": sent["from"], "package": sent["package"]}
    numbers = [each for each in dict.fromkeys(data.getlist("item")) if each.strip()]
    if not numbers:
        words = "" if sent["whole"] else " ".join(sent["words"].split())
        wanted = Wanted(None, sent["whole"], words, **opened)
        return [(wanted, _pieces(data, "quantity"))]
    items = [WantedSent.base_fields["item"].clean(each) for each in numbers]
    return [
        (Wanted(one, **opened, instead=_instead(data.get(f"instead-{one.item_number}", ""))),
         _pieces(data, f"quantity-{one.item_number}"))
        for one in items
    ]  # fmt: skip


def _pieces(data: QueryDict, name: str) -> int:
    text = data.get(name, data.get("quantity"))
    try:
        return int(WholeField("number of pieces", absent=1).clean(text))
    except forms.ValidationError as problem:
        raise Refused(problem.messages[0]) from problem


def _instead(text: str) -> Instrument | InstrumentSet | None:
    """Another source by its number or code; None for the thing itself."""
    if not text:
        return None
    found = Instrument.objects.filter(item_number__folded=text).first()
    return found or WantedSent.base_fields["whole"].clean(text)


def needed_by(data: QueryDict, usual: str = DEFAULT_WHEN) -> datetime:
    """The moment chosen: so many minutes from now, or the time written; else the ``usual``.

    Refused where the time cannot be read.
    """
    when = data.get("when", usual)
    if when in dict(WHEN) and when != "other":
        return timezone.now() + timedelta(minutes=int(when))
    moment: datetime = MomentField(NO_TIME).clean(data.get("time", ""))
    return moment


class AskSent(Press):
    """The rest of the page. Refused says which field cannot be read.

    ``place`` is a place that was tapped, by a request there; else it is written.
    """

    place = WordsField()
    department = WordsField()
    where = WordsField()
    note = WordsField(LONGEST_NOTE)
    tell = forms.BooleanField(required=False)

    def clean(self) -> dict[str, Any]:
        if self.errors:
            return self.cleaned_data
        sent = {**self.cleaned_data, "needed_by": needed_by(cast(QueryDict, self.data))}
        sent |= tapped(sent.pop("place"))
        return {"key": sent.pop("key"), "asked": Ask(**sent)}


def tapped(place: str) -> dict[str, str]:
    """Where and department of the place that was tapped; nothing where it is written."""
    found = Request.objects.filter(pk=row_number(place)).first()
    return {"where": found.where, "department": found.department} if found else {}


class Later(Press):
    """Another time that will do."""

    needed_by = MomentField(NO_TIME)


class Instead(Press):
    """Another source, by its number or code; nothing: the thing itself after all."""

    instead = WordsField(40)

    def clean_instead(self) -> Instrument | InstrumentSet | None:
        return _instead(self.cleaned_data["instead"])


class Away(OfPackage, Reasoned):
    """A package that goes, if one is scanned, and why fewer go."""

    def clean_words(self) -> Package | None:
        return super().clean_words() if self.cleaned_data["words"].strip() else None


# --- whose requests: chosen and remembered ----------------------------------------------


def remembered(request: HttpRequest, person: Person) -> dict[str, str]:
    """Department, place and how soon of this session, else of what the person asked for last."""
    kept = request.session.get(SESSION_KEY)
    if kept is not None:
        usual = {"department": "", "where": "", "when": DEFAULT_WHEN}
        return {name: str(kept.get(name, else_)) for name, else_ in usual.items()}
    last = Request.objects.filter(asker_id=person.pk).order_by("-pk").first()
    return {
        "department": last.department if last else "",
        "where": last.where if last else "",
        "when": DEFAULT_WHEN,
    }


def remember(
    request: HttpRequest, department: str, where: str | None = None, when: str = ""
) -> None:
    """Keeps the department for this session, and place and how soon where they are given; a
    time of day is not kept."""
    kept = request.session.get(SESSION_KEY) or {}
    chosen = {"department": known_spelling(department)[:40]}
    if where is not None:
        chosen["where"] = " ".join(where.split())[:40]
    if when in dict(WHEN) and when != "other":
        chosen["when"] = when
    request.session[SESSION_KEY] = {**kept, **chosen}
