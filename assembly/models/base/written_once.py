"""What every row of a history has: who, when, and that it is never altered."""

from __future__ import annotations

from django.db import models

from catalog.models.history import AppendOnly


class WrittenOnce(AppendOnly):
    """A row of a history: who and when, never altered and never deleted."""

    by = models.CharField(max_length=150)
    at = models.DateTimeField()

    class Meta:
        abstract = True
