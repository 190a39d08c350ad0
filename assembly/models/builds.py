"""A set being built: its lines as they were when it was begun, and all that happened to it.

Nothing here is counted in place. A build has events, each written once; what is counted is
worked out from them (:mod:`assembly.bench.tally`). So an undo is an event too, nothing is lost,
and the same request sent twice is one event: its key is unique in the build.
"""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.utils import timezone

from assembly.models.base.compressed import CompressedJSONField
from assembly.models.base.indexes import where_known
from assembly.models.base.steps import Step, WithSteps
from catalog.models import CountSheet, Instrument, InstrumentSet


class Build(WithSteps):
    """One revision of a count sheet being built by one person."""

    class State(models.TextChoices):
        OPEN = "open", "Being counted"
        PACKED = "packed", "Packed, to be signed"
        SIGNED = "signed", "Signed"
        VOID = "void", "Canceled"

    ENDED = (State.SIGNED, State.VOID)

    key = models.CharField(max_length=64)
    instrument_set = models.ForeignKey(InstrumentSet, models.PROTECT, related_name="builds")
    count_sheet = models.ForeignKey(CountSheet, models.PROTECT, related_name="builds")
    set_code = models.CharField(max_length=40)
    set_name = models.CharField(max_length=200)
    state = models.CharField(max_length=10, choices=State, default=State.OPEN)
    holder = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+"
    )
    holder_name = models.CharField(max_length=150)
    held_since = models.DateTimeField()
    started_by = models.CharField(max_length=150)
    started_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-started_at", "-pk"]
        permissions = [("assemble", "Can assemble sets and pack packages")]
        indexes = [models.Index(fields=["state", "started_at"])]
        constraints = [models.UniqueConstraint(fields=["key"], name="one_build_a_key")]

    def __str__(self) -> str:
        return f"{self.set_code} {self.set_name}, assembly {self.pk}"

    @property
    def held_by_another(self) -> str:
        since = timezone.localtime(self.held_since)
        return (f"{self.holder_name} holds this set since {since:%H:%M}. "
                "Nothing was changed. Ask for it, or take it over.")  # fmt: skip

    @property
    def running(self) -> bool:
        """Whether there is still something to do on it."""
        return self.state in (self.State.OPEN, self.State.PACKED)


class BuildLine(models.Model):
    """A line of the count sheet as it was when the build was begun."""

    build = models.ForeignKey(Build, models.CASCADE, related_name="lines", db_index=False)
    order = models.PositiveIntegerField()
    section = models.CharField(max_length=80, blank=True)
    instrument = models.ForeignKey(Instrument, models.PROTECT, related_name="+")
    item_number = models.CharField(max_length=40)
    name = models.CharField(max_length=200)
    wanted = models.PositiveIntegerField()
    may_go_without = models.BooleanField(default=False)
    substitutes = models.ManyToManyField(Instrument, blank=True, related_name="+")
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["build", "order"]
        constraints = [
            models.UniqueConstraint(fields=["build", "order"], name="one_build_line_at_a_place"),
            models.CheckConstraint(
                condition=models.Q(wanted__gt=0), name="build_line_wants_something"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.wanted} × {self.item_number} {self.name}"


class BuildEvent(Step):
    """One thing that happened to a build; an undo points at what it undoes."""

    class Kind(models.TextChoices):
        STARTED = "started", "Begun"
        COUNTED = "counted", "Counted"
        SHORT = "short", "Missing"
        DAMAGED = "damaged", "Damaged"
        TAKEN_OUT = "taken out", "Damaged, taken out again"
        SUBSTITUTED = "substituted", "Substituted"
        OVER = "over", "One too many, laid aside"
        READING = "reading", "Scale read"
        WEIGHED = "weighed", "Weighed before the lid"
        UNDO = "undo", "Undone"
        ASKED = "asked", "Asked for"
        TAKEN = "taken", "Taken over"
        PACKED = "packed", "Packed"
        UNPACKED = "unpacked", "Back to counting"
        SIGNED = "signed", "Signed"
        REOPENED = "reopened", "Reopened"
        GIVEN_UP = "given up", "Canceled"

    build = models.ForeignKey(Build, models.CASCADE, related_name="steps", db_index=False)
    kind = models.CharField(max_length=12, choices=Kind)
    line = models.ForeignKey(BuildLine, models.CASCADE, null=True, related_name="+", db_index=False)
    quantity = models.PositiveIntegerField(default=0)
    instrument = models.ForeignKey(
        Instrument, models.PROTECT, null=True, related_name="+", db_index=False
    )
    undoes = models.ForeignKey(
        "self", models.CASCADE, null=True, related_name="undone_by", db_index=False
    )
    data = CompressedJSONField(default=dict, blank=True)

    class Meta:
        ordering = ["pk"]
        indexes = [where_known("instrument", "event_of_instrument")]
        constraints = [
            models.UniqueConstraint(
                fields=["undoes"], condition=models.Q(undoes__isnull=False), name="undone_once"
            ),
            models.UniqueConstraint(fields=["build", "key"], name="one_event_a_key"),
            models.UniqueConstraint(fields=["build", "number"], name="one_event_at_a_number"),
            models.CheckConstraint(
                condition=~models.Q(kind="undo") | models.Q(undoes__isnull=False),
                name="an_undo_undoes_something",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.at:%Y-%m-%d %H:%M} {self.by} {self.kind} {self.quantity or ''}".strip()
