"""Loads: what went into a sterilizer together, how the cycle went, and who released it.

A load has one row that says how it stands now and a step for everything that led there,
written once. A package is in one load at the most.
"""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models.functions import Lower

from assembly.models.base.compressed import CompressedJSONField
from assembly.models.base.steps import Step, WithSteps
from assembly.models.packages import Package
from catalog.models import Sterilizer


class LoadState(models.TextChoices):
    """How a load stands."""

    GATHERING = "gathering", "Being gathered"
    RUNNING = "running", "In the sterilizer"
    RELEASED = "released", "Released"
    NOT_RELEASED = "not released", "Not released"
    RECALLED = "recalled", "Recalled"
    GIVEN_UP = "given up", "Canceled"


class Biological(models.TextChoices):
    """What the biological indicator of a load said."""

    NONE = "none", "None in this load"
    NOT_READ = "not read", "Not read yet"
    NO_GROWTH = "no growth", "No growth, its control grew"
    GROWTH = "growth", "Growth"


class WetCause(models.TextChoices):
    """Why a package was wet, as far as it was found. Common practice, no source."""

    CROWDED = "crowded", "Too close to others"
    HEAVY = "heavy", "Too much metal in one place"
    POOLED = "pooled", "Water stood in it: it lay so that it could not drain"
    DRIPPED = "dripped", "Dripped on from above"
    DRYING = "drying", "Drying too short or broken off"
    COOLED = "cooled", "Touched or cooled too early"
    STEAM = "steam", "Wet steam, or trouble of the sterilizer"
    UNKNOWN = "unknown", "Not found yet"


class Load(WithSteps):
    """One cycle of one sterilizer with what was in it.

    ``programme`` is in the words that a package's method is written in, ``runs`` its facts as
    they were when the load was begun. ``lot`` is put together as the policy of ``day`` says;
    blank where its pattern cannot be filled. ``cycle`` and ``number`` are the sterilizer's
    own, as it shows them; the second is None where it counts no loads. ``record`` is what was
    typed from its record.
    """

    ENDED = (LoadState.RELEASED, LoadState.NOT_RELEASED, LoadState.RECALLED, LoadState.GIVEN_UP)

    key = models.CharField(max_length=64)
    sterilizer = models.ForeignKey(Sterilizer, models.PROTECT, related_name="loads", db_index=False)
    sterilizer_code = models.CharField(max_length=20)
    programme = models.CharField(max_length=120)
    runs = models.JSONField("the programme's facts", default=dict, blank=True)
    method = models.CharField(max_length=10)
    cycle = models.PositiveIntegerField("cycle number")
    number = models.PositiveIntegerField("load number", null=True, blank=True)
    day = models.DateField()
    lot = models.CharField("lot number", max_length=60, blank=True)
    state = models.CharField(max_length=12, choices=LoadState, default=LoadState.GATHERING)
    begun_by = models.CharField(max_length=150)
    begun_at = models.DateTimeField()
    started_at = models.DateTimeField(null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    biological = models.CharField(max_length=10, choices=Biological, blank=True)
    record = models.JSONField("typed from the sterilizer's record", default=dict, blank=True)
    findings = CompressedJSONField("what the release was decided on", default=list, blank=True)

    class Meta:
        ordering = ["-day", "-begun_at", "-pk"]
        permissions = [
            ("run_load", "Can gather packages into loads and start them"),
            ("release_load", "Can release a load, refuse to, or recall it"),
        ]
        indexes = [
            models.Index(fields=["state", "day"]),
            models.Index(Lower("lot"), name="load_lot_folded"),
            models.Index(fields=["sterilizer", "begun_at"], name="load_of_sterilizer"),
        ]
        constraints = [
            models.UniqueConstraint(fields=["key"], name="one_load_a_key"),
            models.UniqueConstraint(
                fields=["sterilizer", "day", "cycle"],
                condition=~models.Q(state="given up"),
                name="one_load_a_cycle",
            ),
            models.CheckConstraint(condition=models.Q(cycle__gt=0), name="load_has_a_cycle"),
            models.CheckConstraint(
                condition=~models.Q(state__in=["running", "released", "not released", "recalled"])
                | models.Q(started_at__isnull=False),
                name="a_run_load_was_started",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.lot or f'{self.sterilizer_code} cycle {self.cycle}'}"

    @property
    def named(self) -> str:
        return str(self)

    @property
    def standing(self) -> str:
        return f"Load {super().standing}"

    @property
    def running(self) -> bool:
        """Whether somebody still has to do something with it."""
        return self.state in (LoadState.GATHERING, LoadState.RUNNING)


class LoadStep(Step):
    """One thing that happened to a load, in words."""

    load = models.ForeignKey(Load, models.CASCADE, related_name="steps", db_index=False)
    state = models.CharField(max_length=12, choices=LoadState)
    words = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["load", "number"], name="one_load_step_at_a_number"),
            models.UniqueConstraint(fields=["load", "key"], name="one_load_step_a_key"),
        ]

    def __str__(self) -> str:
        return f"{self.at:%Y-%m-%d %H:%M} {self.by} {self.words}"


class LoadedPackage(models.Model):
    """A package in a load; taken out again it stays on record."""

    MAY_CHANGE: ClassVar[tuple[str, ...]] = ("taken_out_at", "wet_because")
    """Of an entry of the chain."""

    load = models.ForeignKey(Load, models.PROTECT, related_name="loaded")
    package = models.ForeignKey(Package, models.PROTECT, related_name="loaded")
    added_by = models.CharField(max_length=150)
    added_at = models.DateTimeField()
    taken_out_at = models.DateTimeField(null=True, blank=True)
    wet_because = models.CharField("wet because", max_length=10, choices=WetCause, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["package"],
                condition=models.Q(taken_out_at__isnull=True),
                name="a_package_is_in_one_load",
            )
        ]

    def __str__(self) -> str:
        return f"{self.package.code} in {self.load}"
