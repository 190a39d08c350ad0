"""May this package be used? Answered once: for one package, and for a whole query.

Whatever leaves the department or goes on a shelf asks here first, and every page, list and
label says of a package what is said here. :func:`_word` and :func:`standing_as` hold the
same order of reasons; a test holds them equal over everything that can be on record.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from functools import lru_cache

from django.db import models
from django.db.models import (
    Case,
    Exists,
    F,
    FilteredRelation,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Value,
    When,
)
from django.utils import timezone

from assembly.judging.facts_from_catalog import policy_in_force
from assembly.ledger import Refused
from assembly.models import (
    Complaint,
    Load,
    LoadedPackage,
    LoadState,
    Package,
    ShelfMove,
    ShelfState,
    Wrong,
)
from assembly.models.complaints import OF_THE_LOAD
from assembly.rules.days import day_words, time_words


class Word(models.TextChoices):
    """How a package stands, in one word; the first that fits, in this order."""

    VOID = "void", "Void"
    NOT_RELEASED = "not released", "Not released"
    RECALLED = "recalled", "Recalled"
    DAMAGED = "damaged", "Damaged"
    OPENED = "opened", "Opened"
    PAST_ITS_DATE = "past its date", "Past its date"
    UNSEALED = "waits for its seal", "Waits for its seal"
    HANDED_OVER = "handed over", "Handed over"
    RELEASED = "released", "Released"
    IN_A_LOAD = "in a load", "In a load"
    PACKED = "packed", "Packed"


FAILED = (LoadState.NOT_RELEASED, LoadState.RECALLED)
TAKEN_OFF = (ShelfState.DAMAGED, ShelfState.RECALLED, ShelfState.OPENED)
SPOILED = (Word.VOID, Word.NOT_RELEASED, Word.RECALLED, Word.DAMAGED, Word.OPENED,
           Word.PAST_ITS_DATE)  # fmt: skip
MAY_BE_GONE = frozenset((*SPOILED, Word.UNSEALED, Word.HANDED_OVER))
"""For all others it is enough to look through what is here, which an index holds."""
NOT_YET = (Word.IN_A_LOAD, Word.PACKED)
USABLE = (Word.RELEASED, Word.HANDED_OVER)
ANOTHER = "Take another package."
SEAL_IT = "Close it, look at its seal, then say so on its page, or scan its label there."
ANEW = "Do not use it: void it and pack it anew."


@dataclass(frozen=True, slots=True)
class Standing:
    """How one package stands, and whether it may be used.

    ``usable``: nothing on record speaks against using it, and it was released, or the policy
    keeps releases elsewhere. ``why`` and ``what_next`` are sentences, the second empty where
    there is nothing to do; ``short`` is why in a few words, for a label. ``reserves`` is what
    whoever uses it has to know.
    """

    word: Word
    usable: bool
    why: str
    what_next: str = ""
    short: str = ""
    reserves: tuple[str, ...] = ()

    @property
    def spoiled(self) -> bool:
        """Never to be used: not a question of waiting."""
        return self.word in SPOILED

    @property
    def to_be_had(self) -> bool:
        """Still here and not spoiled; sterile or not yet."""
        return not self.spoiled and self.word != Word.HANDED_OVER

    @property
    def may_go(self) -> bool:
        """May lie on the shelf, and leave it."""
        return self.usable and self.to_be_had

    @property
    def refusal(self) -> str:
        """Why it does not go, and what to do: what a verb refuses with."""
        return f"{self.why} {self.what_next}"

    @property
    def words(self) -> str:
        """The word with what has to be known, as lists show it: ``released, with shortages``."""
        return ", ".join((self.word.value, *self.reserves))

    @property
    def status(self) -> str:
        """A finding's word for it, which gives its colour and its mark."""
        if self.spoiled:
            return "not met"
        return "met" if self.word == Word.RELEASED else "does not apply"


# --- one package ----------------------------------------------------------------------


def standing_of(package: Package) -> Standing:
    """How the package stands by what was read of it; rows for a list come `with_standing`."""
    load = load_in(package)
    word = _word(package, load)
    usable = word in USABLE or (word in NOT_YET and not _asks(package))
    why, what_next, short = _reason(package, word, load, usable)
    return Standing(word, usable, f"{package.code} {why}.", what_next, short or word.value,
                    tuple(_reserves(package)))  # fmt: skip


def load_in(package: Package) -> Load | None:
    return next((one.load for one in package.loaded.all() if one.taken_out_at is None), None)


def _asks(package: Package) -> bool:
    said: bool | None = getattr(package, "asks_for_release", None)
    return asks_for_release() if said is None else said


def _word(package: Package, load: Load | None) -> Word:
    shelved = getattr(package, "shelved", None)
    if package.is_void:
        return Word.VOID
    if load and load.state in FAILED:
        return Word(load.state)
    if shelved and shelved.state in TAKEN_OFF:
        return Word(shelved.state)
    if package.use_by and package.use_by < timezone.localdate():
        return Word.PAST_ITS_DATE
    if package.sealed_at is None:
        return Word.UNSEALED
    if shelved and shelved.state == ShelfState.HANDED_OVER:
        return Word.HANDED_OVER
    if load and load.state == LoadState.RELEASED:
        return Word.RELEASED
    return Word.IN_A_LOAD if load else Word.PACKED


def _reason(package: Package, word: Word, load: Load | None, usable: bool) -> tuple[str, str, str]:
    """Why, after the package's code; what to do; and why in a few words where the word is
    not enough."""
    if word == Word.VOID:
        return f"is void ({package.void_reason})", "Do not use it.", package.void_reason
    if load and load.state in FAILED:
        return f"was in load {load}, which was {word}", ANEW, f"load {load} {word}"
    if word == Word.PAST_ITS_DATE and package.use_by:
        by = f"to be used by {day_words(package.use_by)}"
        return f"was {by}", ANEW, f"{word}, {by}"
    if word == Word.UNSEALED:
        return "waits for its seal", SEAL_IT, ""
    if word == Word.RELEASED:
        return f"was released with load {load}", "", ""
    if word in NOT_YET:
        return _not_yet(load, usable)
    return _gone_words(list(package.steps.all())[-1]), ANOTHER, ""


def _not_yet(load: Load | None, usable: bool) -> tuple[str, str, str]:
    if usable:
        where = f"is in load {load}" if load else "is in no load here"
        return f"{where}; releases are kept elsewhere", "Look there whether it was released.", ""
    if load is None:
        return "is in no load: it was not sterilized", "Put it into a load first.", ""
    state = load.get_state_display().lower()
    return f"is in load {load}, which is not released yet ({state})", "Wait for its release.", ""


def _gone_words(move: ShelfMove) -> str:
    to = f" to {move.to}" if move.to else ""
    to += f" ({move.reason})" if move.reason else ""
    when = timezone.localtime(move.at)
    return f"was {move.get_state_display().lower()}{to} by {move.by} on {time_words(when)}"


def _reserves(package: Package) -> Iterator[str]:
    if package.shortages:
        yield "with shortages"
    yield from package.accepted_marks
    if kind := getattr(package, "of_another", None):
        yield f"look at it first, another of its load: {Wrong(kind).label.lower()}"


# --- many -----------------------------------------------------------------------------


def with_standing(packages: QuerySet[Package]) -> QuerySet[Package]:
    """The same packages with all that :func:`standing_of` reads: five queries for all.

    ``of_another`` is what was wrong with another package of its load, and may be with this one,
    until somebody has looked into it.
    """
    return _with_standing(packages, asks_for_release())


def every_with_standing() -> QuerySet[Package]:
    """Every package, read with standing."""
    return _every_with_standing(asks_for_release()).all()


@lru_cache(maxsize=2)
def _every_with_standing(asks: bool) -> QuerySet[Package]:
    """Put together once, as :func:`_standing_as`."""
    return _with_standing(Package.objects.all(), asks)


def _with_standing(packages: QuerySet[Package], asks: bool) -> QuerySet[Package]:
    said = Complaint.objects.filter(
        load__loaded__package=OuterRef("pk"), load__loaded__taken_out_at=None,
        kind__in=OF_THE_LOAD, state=Complaint.State.OPEN,
    ).exclude(package=OuterRef("pk"))  # fmt: skip
    return (
        packages.select_related("shelved__place")
        .prefetch_related("loaded__load", "steps")
        .annotate(asks_for_release=Value(asks),
                  of_another=Subquery(said.order_by("pk").values("kind")[:1]))
    )  # fmt: skip


def standing_as(*words: Word) -> QuerySet[Package]:
    """Packages that stand as one of these words: :func:`_word` in SQL, in the same order."""
    return _standing_as(words, timezone.localdate()).all()


@lru_cache(maxsize=32)
def _standing_as(words: tuple[Word, ...], today: date) -> QuerySet[Package]:
    """Put together once a day: that takes longer than the database to answer. Never evaluated."""
    inside = FilteredRelation("loaded", condition=Q(loaded__taken_out_at=None))  # one at the most
    load = F("inside__load__state")
    word = Case(
        When(void_at__isnull=False, then=Value(Word.VOID)),
        When(load_state__in=FAILED, then=F("load_state")),
        When(shelved__state__in=TAKEN_OFF, then=F("shelved__state")),
        When(use_by__lt=today, then=Value(Word.PAST_ITS_DATE)),
        When(sealed_at=None, then=Value(Word.UNSEALED)),
        When(shelved__state=ShelfState.HANDED_OVER, then=Value(Word.HANDED_OVER)),
        When(load_state=LoadState.RELEASED, then=Value(Word.RELEASED)),
        When(load_state__isnull=False, then=Value(Word.IN_A_LOAD)),
        default=Value(Word.PACKED),
        output_field=models.CharField(),
    )
    here = {} if MAY_BE_GONE.intersection(words) else {"here": True}
    found = Package.objects.filter(**here).alias(inside=inside).alias(load_state=load)
    return found.alias(word=word).filter(word__in=words)


def usable() -> QuerySet[Package]:
    """Packages that may be used, also where they were handed over."""
    return standing_as(*_usable_words())


def may_go() -> QuerySet[Package]:
    """Packages that may lie on the shelf, and leave it."""
    return standing_as(*may_go_words())


def may_go_words() -> tuple[Word, ...]:
    return tuple(word for word in _usable_words() if word != Word.HANDED_OVER)


def _usable_words() -> tuple[Word, ...]:
    return USABLE if asks_for_release() else (*USABLE, *NOT_YET)


def waiting_for_a_load() -> QuerySet[Package]:
    """Packages in force that are in no load and nowhere else, oldest first.

    Past its date it is still listed: a scan says what to do with it.
    """
    loaded = LoadedPackage.objects.filter(package=OuterRef("pk"), taken_out_at=None)
    found = standing_as(Word.PACKED, Word.PAST_ITS_DATE).filter(here=True).exclude(sealed_at=None)
    return found.filter(~Exists(loaded), shelved=None).order_by("packed_at", "pk")


def waiting_for_their_seal() -> QuerySet[Package]:
    """Packages that are on record and that nobody has said to be sealed, oldest first."""
    return standing_as(Word.UNSEALED).filter(here=True).order_by("packed_at", "pk")


# --- asked by the verbs ---------------------------------------------------------------


def check_here(package: Package) -> None:
    """Refused where it is void or has left: nothing more becomes of it in this department."""
    if package.is_void:
        raise Refused(standing_of(package).refusal)
    last = ShelfMove.objects.filter(package=package).last()
    if last and last.state != ShelfState.ON_SHELF:
        raise Refused(f"{package.code} {_gone_words(last)}. {ANOTHER}")


def check_to_be_had(package: Package, *, sealed: bool = False) -> None:
    """Refused where it is spoiled or has left; whether it is sterile is not asked yet.

    ``sealed``: also refused while it waits for its seal.
    """
    now = _as_it_is(package)
    if not now.to_be_had or (sealed and now.word == Word.UNSEALED):
        raise Refused(now.refusal)


def is_closed(now: Standing) -> bool:
    """Whether it is here as it was closed, to be used or sterilized yet."""
    return now.to_be_had or now.word == Word.PAST_ITS_DATE


def check_opened(package: Package) -> None:
    """Refused while the package is closed and here: what is inside cannot be taken out of it."""
    if is_closed(_as_it_is(package)):
        raise Refused(f"{package.code} is closed. Void it, or open the set again, then take the "
                      "piece out of it.")  # fmt: skip


def check_may_go(package: Package) -> None:
    """Refused unless the package may lie on the shelf or leave it: here, sterile, in date."""
    now = _as_it_is(package)
    if not now.may_go:
        raise Refused(now.refusal)


def _as_it_is(package: Package) -> Standing:
    """Read anew: what a page holds may be older than what somebody else has just done."""
    return standing_of(every_with_standing().get(pk=package.pk))


# --- loads ----------------------------------------------------------------------------


def load_of(package: Package) -> Load | None:
    """The load a package is in, or was sterilized in; None where it is in none."""
    return Load.objects.filter(loaded__package=package, loaded__taken_out_at=None).first()


def packages_in(load: Load) -> QuerySet[Package]:
    """What is in a load, in the order in which it was put there."""
    return Package.objects.filter(loaded__load=load, loaded__taken_out_at=None).order_by(
        "loaded__pk"
    )


def asks_for_release() -> bool:
    """Whether the policy in force lets nothing go that was not released on record."""
    return policy_in_force().flag("release_on_record")
