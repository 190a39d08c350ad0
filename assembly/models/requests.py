"""What theatre asks for, and where packages are: requests, shelf places, stock levels.

A request and a package on the shelf have one row that says how it stands now, and one row
for each step that led there. Steps and moves are written once and never altered.
"""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models.functions import Lower

from assembly.models.packages import Package, Shortage
from assembly.models.steps import Step, WithSteps
from assembly.models.written_once import WrittenOnce
from catalog.models import Instrument, InstrumentSet


class RequestState(models.TextChoices):
    """How a request stands."""

    OPEN = "open", "Open"
    TAKEN = "taken", "Taken"
    PACKING = "packing", "Being packed"
    ON_THE_WAY = "on the way", "On the way"
    HANDED_OVER = "handed over", "Handed over"
    NOT_MET = "not met", "Could not be met"
    WITHDRAWN = "withdrawn", "Withdrawn"


HELD = (RequestState.TAKEN, RequestState.PACKING, RequestState.ON_THE_WAY)
RUNNING = (RequestState.OPEN, *HELD)


class Request(WithSteps):
    """One thing that is missing somewhere: an instrument, a set, or words for neither."""

    ENDED = (RequestState.HANDED_OVER, RequestState.NOT_MET, RequestState.WITHDRAWN)

    class Urgency(models.TextChoices):
        ROUTINE = "routine", "Routine"
        URGENT = "urgent", "Urgent"
        WAITING = "waiting", "The case is waiting"

    key = models.CharField(max_length=64, unique=True)
    instrument = models.ForeignKey(Instrument, models.PROTECT, null=True, related_name="requests")
    wanted_set = models.ForeignKey(
        InstrumentSet, models.PROTECT, null=True, related_name="requests"
    )
    what = models.CharField(max_length=200)
    number = models.CharField("item number or set code", max_length=40, blank=True)
    quantity = models.PositiveIntegerField(default=1)
    missing_from = models.ForeignKey(
        InstrumentSet, models.PROTECT, null=True, related_name="missed"
    )
    missing_in_package = models.ForeignKey(
        Package, models.PROTECT, null=True, related_name="missed"
    )
    department = models.CharField(max_length=40, db_index=True)
    where = models.CharField(max_length=40)
    needed_by = models.DateTimeField(db_index=True)
    urgency = models.CharField(max_length=10, choices=Urgency, default=Urgency.ROUTINE)
    note = models.CharField(max_length=200, blank=True)
    sources = models.JSONField("where it could come from when it was asked", default=list)
    told = models.JSONField("who is told that nothing can serve", default=list, blank=True)
    state = models.CharField(max_length=12, choices=RequestState, default=RequestState.OPEN)
    asker = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+"
    )
    asked_by = models.CharField(max_length=150)
    asked_at = models.DateTimeField()
    holder = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+"
    )
    holder_name = models.CharField(max_length=150, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    returned = models.PositiveIntegerField("pieces that the set has back", default=0)
    replenished_at = models.DateTimeField("the set has it back", null=True, blank=True)
    replenished_by = models.CharField(max_length=150, blank=True)
    replenished_because = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["needed_by", "pk"]
        permissions = [
            ("ask_request", "Can ask for missing items and withdraw what was asked"),
            ("work_request", "Can take requests and hand over what was asked for"),
        ]
        indexes = [models.Index(fields=["state", "needed_by"])]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(quantity__gt=0), name="request_asks_for_something"
            ),
            models.CheckConstraint(
                condition=~models.Q(state__in=HELD) | ~models.Q(holder_name=""),
                name="request_in_work_has_a_holder",
            ),
            models.CheckConstraint(
                condition=models.Q(instrument__isnull=True) | models.Q(wanted_set__isnull=True),
                name="request_for_one_thing",
            ),
            models.CheckConstraint(
                condition=models.Q(returned__lte=models.F("quantity")),
                name="set_gets_back_what_it_missed",
            ),
            models.CheckConstraint(
                condition=models.Q(returned__lt=models.F("quantity"))
                | models.Q(replenished_at__isnull=False),
                name="set_with_all_back_is_replenished",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} × {self.what}"

    @property
    def running(self) -> bool:
        return self.state in RUNNING

    @property
    def destination(self) -> str:
        """Where it goes, as a label says it."""
        return f"{self.where}, {self.department}"


class RequestStep(Step):
    """One thing that happened to a request, and how it stood then."""

    request = models.ForeignKey(Request, models.CASCADE, related_name="steps")
    state = models.CharField(max_length=12, choices=RequestState)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["request", "number"], name="one_step_at_a_number"),
            models.UniqueConstraint(fields=["request", "key"], name="one_request_step_a_key"),
        ]

    def __str__(self) -> str:
        return f"{self.at:%Y-%m-%d %H:%M} {self.by} {self.get_state_display().lower()}"


class RequestPackage(models.Model):
    """A package that serves a request; let go when the request no longer wants it."""

    request = models.ForeignKey(Request, models.PROTECT, related_name="ties")
    package = models.ForeignKey(Package, models.PROTECT, related_name="ties")
    tied_by = models.CharField(max_length=150)
    tied_at = models.DateTimeField()
    let_go_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["package"],
                condition=models.Q(let_go_at__isnull=True),
                name="a_package_serves_one_request",
            )
        ]

    def __str__(self) -> str:
        return f"{self.package.code} for {self.request}"


class PiecesBack(WrittenOnce):
    """Pieces of one posting that went back into one set: how many, who, when and why.

    What a set has back altogether is the count on its shortage, or on the request that
    names it; the database lets that never pass what was short.
    """

    key = models.CharField(max_length=64)
    shortage = models.ForeignKey(Shortage, models.PROTECT, null=True, related_name="back")
    request = models.ForeignKey(Request, models.PROTECT, null=True, related_name="back")
    pieces = models.PositiveIntegerField()
    because = models.CharField(max_length=300)
    from_spares = models.BooleanField("taken from the loose spares", default=False)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(shortage__isnull=True) ^ models.Q(request__isnull=True),
                name="pieces_back_in_one_set",
            ),
            models.CheckConstraint(condition=models.Q(pieces__gt=0), name="pieces_back_are_some"),
            models.UniqueConstraint(fields=["shortage", "key"], name="one_return_a_shortage_a_key"),
            models.UniqueConstraint(fields=["request", "key"], name="one_return_a_request_a_key"),
        ]

    def __str__(self) -> str:
        return f"{self.pieces} back in {self.shortfall_key}"

    @property
    def shortfall_key(self) -> str:
        """The key of the shortfall that it makes good, as the pages name it."""
        return f"shortage:{self.shortage_id}" if self.shortage_id else f"request:{self.request_id}"


class LastLook(models.Model):
    """What a person had seen of the requests when they last opened the page."""

    user = models.OneToOneField(settings.AUTH_USER_MODEL, models.CASCADE, related_name="+")
    step = models.BigIntegerField(default=0)
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.user}: {self.step}"


# --- the shelf ------------------------------------------------------------------------


class ShelfPlace(models.Model):
    """A place where packages lie, with the code on its label."""

    code = models.CharField("place code", max_length=20, unique=True)
    name = models.CharField(max_length=80, blank=True)
    retired = models.BooleanField(default=False)

    class Meta:
        ordering = ["code"]
        permissions = [
            ("keep_shelf", "Can put packages away, move them and hand them over"),
            ("set_stock_level", "Can set low levels and shelf places"),
        ]
        constraints = [models.UniqueConstraint(Lower("code"), name="shelf_place_code_folded")]

    def __str__(self) -> str:
        return f"{self.code} {self.name}".strip()


class ShelfState(models.TextChoices):
    """Where a package is, or why it is no longer to be had."""

    ON_SHELF = "on shelf", "On the shelf"
    HANDED_OVER = "handed over", "Handed over"
    OPENED = "opened", "Opened"
    DAMAGED = "damaged", "Damaged"
    RECALLED = "recalled", "Recalled"


class Shelved(models.Model):
    """How one package stands now, since it was first put away or handed over."""

    package = models.OneToOneField(Package, models.PROTECT, related_name="shelved")
    state = models.CharField(max_length=12, choices=ShelfState)
    place = models.ForeignKey(ShelfPlace, models.PROTECT, null=True, related_name="packages")
    since = models.DateTimeField()

    class Meta:
        indexes = [models.Index(fields=["state"])]
        constraints = [
            models.CheckConstraint(
                condition=~models.Q(state="on shelf") | models.Q(place__isnull=False),
                name="on_the_shelf_is_at_a_place",
            )
        ]

    def __str__(self) -> str:
        at = f" at {self.place}" if self.place_id else ""
        return f"{self.package.code} {self.get_state_display().lower()}{at}"


class ShelfMove(Step):
    """One thing that happened to a package after it was packed."""

    package = models.ForeignKey(Package, models.PROTECT, related_name="steps")
    state = models.CharField(max_length=12, choices=ShelfState)
    place = models.ForeignKey(ShelfPlace, models.PROTECT, null=True, related_name="+")
    to = models.CharField("handed over to", max_length=90, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["package", "number"], name="one_move_at_a_number"),
            models.UniqueConstraint(fields=["package", "key"], name="one_move_a_key"),
        ]

    def __str__(self) -> str:
        return f"{self.at:%Y-%m-%d %H:%M} {self.by} {self.get_state_display().lower()}"


class StockLevel(models.Model):
    """How many single packages of an instrument should lie ready, and where its spares lie."""

    instrument = models.OneToOneField(Instrument, models.CASCADE, related_name="stock_level")
    low = models.PositiveIntegerField("low under", null=True, blank=True)
    spares_place = models.CharField("loose spares lie in", max_length=80, blank=True)

    def __str__(self) -> str:
        return f"{self.instrument}: low under {self.low}"


class SetNeed(WrittenOnce):
    """When a set is needed next, as somebody who knows the list of cases said it."""

    instrument_set = models.ForeignKey(InstrumentSet, models.CASCADE, related_name="needs")
    needed_at = models.DateTimeField(db_index=True)
    where = models.CharField(max_length=40, blank=True)

    class Meta:
        ordering = ["needed_at"]

    def __str__(self) -> str:
        return f"{self.instrument_set.code} needed {self.needed_at:%Y-%m-%d %H:%M}"
