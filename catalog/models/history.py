"""The change history: append-only, names copied as text, written with the change itself."""

from __future__ import annotations

from typing import Any, ClassVar, NoReturn

from django.db import models


class AppendOnly(models.Model):
    """A row that is written once: never altered, never deleted; sealed into the chain."""

    MAY_CHANGE: ClassVar[tuple[str, ...]] = ()
    """The fields that an entry's seal leaves out (:mod:`catalog.chain`)."""

    class Meta:
        abstract = True

    def save(self, *args: Any, **kwargs: Any) -> None:
        if self.pk is not None:
            raise TypeError("What is on record is not altered; write another one.")
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> NoReturn:
        raise TypeError("What is on record is not deleted.")


class Change(AppendOnly):
    """One change to one object: who, when, what it was and what it became."""

    class Verb(models.TextChoices):
        ADDED = "added", "Added"
        CHANGED = "changed", "Changed"
        RETIRED = "retired", "Retired"
        RESTORED = "restored", "Brought back"
        APPROVED = "approved", "Approved"
        DISCARDED = "discarded", "Discarded"
        REMOVED = "removed", "Removed"

    at = models.DateTimeField()
    actor = models.CharField(max_length=150)
    account = models.PositiveIntegerField("number of the account", null=True)
    verb = models.CharField(max_length=10, choices=Verb)
    kind = models.CharField(max_length=40)
    object_key = models.CharField(max_length=80)
    object_name = models.CharField(max_length=250)
    before = models.JSONField(null=True)
    after = models.JSONField(null=True)
    batch = models.CharField(max_length=80, blank=True)
    reason = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["-at", "-pk"]
        indexes = [
            models.Index(fields=["at"], name="change_at"),
            models.Index(fields=["batch"], name="change_batch"),
            models.Index(fields=["actor"], name="change_actor"),
            models.Index(fields=["kind"], name="change_kind"),
            models.Index(fields=["object_key"], name="change_object_key"),
        ]

    def __str__(self) -> str:
        return f"{self.at:%Y-%m-%d %H:%M} {self.actor} {self.verb} {self.kind} {self.object_key}"
