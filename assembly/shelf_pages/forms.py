"""What the pages of the shelf and of a package send."""

from __future__ import annotations

from typing import Any

from django import forms

from assembly.ledger import Refused
from assembly.models import ShelfPlace
from assembly.presses import KnownField, Reasoned, Scan, Sent
from assembly.requests.forms import MomentField
from catalog.forms.fields import WholeField, WordsField
from catalog.lookup.finding import INSTRUMENTS, Want, find
from catalog.lookup.offered import Kind

NEEDS_BOTH = "Write the code of a set, and the day and time it is needed."
UNREAD = "“{text}” was read: write a whole number. Nothing was changed."


class CodeField(forms.CharField):
    """What bears exactly this number or code, scanned or typed: the look-up says which.

    ``problem`` is what Refused says of any other, with the ``{text}`` that was read.
    """

    def __init__(self, want: Want, problem: str) -> None:
        self.want, self.problem = want, problem
        super().__init__(strip=False)

    def to_python(self, value: Any) -> Any:
        found = find(super().to_python(value) or "", self.want)
        if not found.exact:
            raise Refused(self.problem.format(text=found.words))
        return found.one


Scanned = Scan.plus(place=WordsField(), package=WordsField(), to=WordsField(90))


class Needed(Sent):
    """When a set is needed next, and where."""

    called = {"code": "thing", "time": "needed_at"}
    code = CodeField(Want(kinds=frozenset({Kind.SETS}), retired=True), NEEDS_BOTH)
    time = MomentField(NEEDS_BOTH)
    where = WordsField()


class Counted(Sent):
    """How many loose spares of one instrument lie there."""

    called = {"item": "instrument"}
    item = CodeField(
        Want(kinds=INSTRUMENTS, forgiving=False),
        "“{text}” is no item number of the catalog. Nothing was changed.",
    )
    counted = WholeField(required=False, problem=UNREAD)


class Level(Sent):
    """How many of one instrument or set should lie ready."""

    called = {"item": "thing"}
    item = CodeField(
        Want(kinds=INSTRUMENTS | {Kind.SETS}, forgiving=False),
        "“{text}” is no item number and no set code of the catalog. Nothing was changed.",
    )
    low = WholeField(required=False, problem=UNREAD)
    spares_place = WordsField()


Place = Sent.plus(code=WordsField(), name=WordsField())


class OutOfUse(Sent):
    """A place that is used no longer."""

    called = {"code": "place"}
    code = KnownField(ShelfPlace.objects.filter(retired=False), "code",
                      "“{text}” is no place in use. Nothing was changed.")  # fmt: skip


TakenOff = Reasoned.plus(state=WordsField())
Voided = Sent.plus(reason=WordsField(), to_spares=forms.BooleanField(required=False))
Closed = Sent.plus(because=WordsField())
