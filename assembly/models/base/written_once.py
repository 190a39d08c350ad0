"""What every row of a history has: who, when, and that it is never altered."""

from __future__ import annotations

from django.db import models

from catalog.models.history import AppendOnly


class WrittenOnce(AppendOnly):
    """A row of a history: who and when, never altered and never deleted.

    ``account`` is the number of the account, which no two people of one name share; None on record
    of before it was kept.
    """

    by = models.CharField(max_length=150)
    account = models.PositiveIntegerField("number of the account", null=True)
    at = models.DateTimeField()

    class Meta:
        abstract = True
