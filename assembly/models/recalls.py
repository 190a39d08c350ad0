"""Recalls: what was taken back, where it was at that moment, and who was told.

Written once with the packages that it found; only that somebody read a notice is added.
"""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from assembly.models.packages import Package


class RecallKind(models.TextChoices):
    """What a recall starts from."""

    LOAD = "load", "A load"
    STERILIZER = "sterilizer", "A sterilizer, since its last good biological reading"
    LOT = "lot", "A lot of a supply or of a test"
    INSTRUMENT = "instrument", "An instrument"
    CONTAINER = "container", "A container by its number"


class Recall(models.Model):
    """One recall. ``of`` is what it started from, as it is looked up again; ``about`` in words."""

    MAY_CHANGE: ClassVar[tuple[str, ...]] = ()

    key = models.CharField(max_length=64, unique=True)
    kind = models.CharField(max_length=12, choices=RecallKind)
    of = models.CharField(max_length=60)
    about = models.CharField(max_length=200)
    reason = models.CharField(max_length=300)
    by = models.CharField(max_length=150)
    at = models.DateTimeField()

    class Meta:
        ordering = ["-at", "-pk"]
        constraints = [
            models.CheckConstraint(condition=~models.Q(reason=""), name="recall_has_reason")
        ]

    def __str__(self) -> str:
        return f"recall {self.pk}: {self.about}"


class RecalledPackage(models.Model):
    """A package of a recall and where it was then; ``holder`` is who has it, blank where it is
    here. ``was_opened``: it was opened or used before."""

    MAY_CHANGE: ClassVar[tuple[str, ...]] = ()

    recall = models.ForeignKey(Recall, models.CASCADE, related_name="packages")
    package = models.ForeignKey(Package, models.PROTECT, related_name="recalls")
    where = models.CharField(max_length=200)
    holder = models.CharField(max_length=90, blank=True)
    department = models.CharField(max_length=90, blank=True)
    was_opened = models.BooleanField(default=False)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["recall", "package"], name="once_in_a_recall")
        ]

    def __str__(self) -> str:
        return f"{self.package.code}, {self.where}"


class Notice(models.Model):
    """What a department is told, until somebody there reads it."""

    department = models.CharField(max_length=90, db_index=True)
    read_by = models.CharField(max_length=150, blank=True)
    read_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        abstract = True
        ordering = ["pk"]


class RecallNotice(Notice):
    """What a department that holds packages of a recall is told."""

    recall = models.ForeignKey(Recall, models.CASCADE, related_name="notices")

    class Meta(Notice.Meta):
        constraints = [
            models.UniqueConstraint(fields=["recall", "department"], name="one_notice_each")
        ]

    def __str__(self) -> str:
        return f"{self.department}: {self.recall}"
