"""What is about to be done to many instruments, written beside the catalog before it is done.

Nothing but ``catalog.actions.staging`` reads these rows: whatever becomes of them, the catalog is
as it was until all of them are moved over in one step.
"""

from __future__ import annotations

from django.db import models

from catalog.models.history import Change
from catalog.models.instruments import CycleFacts, Instrument, InstrumentFacts


class StagedInstrument(InstrumentFacts):
    """One instrument as it will be, with the record of what is done to it.

    ``instrument`` is the one that it changes or removes; None for a new one. ``batch`` is the name
    of the batch on the records.
    """

    batch = models.CharField(max_length=80, db_index=True)
    instrument = models.ForeignKey(
        Instrument, models.DO_NOTHING, null=True, related_name="+", db_constraint=False
    )
    item_number = models.CharField("item number", max_length=40)
    old_number = models.CharField("where it gets another number", max_length=40, blank=True)
    verb = models.CharField(max_length=10, choices=Change.Verb)
    before = models.JSONField(null=True)
    after = models.JSONField(null=True)
    reason = models.CharField(max_length=300, blank=True)
    new_cycles = models.BooleanField("its cycles take the place of those on record", default=False)


class Unrecorded(models.Model):
    """A batch whose instruments stand in the catalog, and whose records are being written."""

    batch = models.CharField(max_length=80, unique=True)
    actor = models.CharField(max_length=150)
    at = models.DateTimeField()

    def __str__(self) -> str:
        return self.batch


class StagedCycle(CycleFacts):
    """One cycle of an instrument as it will be."""

    batch = models.CharField(max_length=80, db_index=True)
    item_number = models.CharField(max_length=40)
