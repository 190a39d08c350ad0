"""What is there of a supply: boxes that the bench said are empty."""

from __future__ import annotations

from django.db import models


class EmptyBox(models.Model):
    """A box that somebody at the bench said is empty: no more of it is there until the shift ends.

    ``supply`` is its kind and code (``pouch:P-1``), or the method of an indicator
    (``indicator:steam``). It counts until ``until``, or until somebody says that there is one.
    """

    key = models.CharField(max_length=64, unique=True)
    supply = models.CharField(max_length=60, db_index=True)
    name = models.CharField(max_length=140)
    said_by = models.CharField(max_length=150)
    said_at = models.DateTimeField()
    until = models.DateTimeField(db_index=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_by = models.CharField(max_length=150, blank=True)

    class Meta:
        ordering = ["said_at", "pk"]
        verbose_name_plural = "empty boxes"

    def __str__(self) -> str:
        return f"{self.name}: the box is empty"
