"""The chain of digests over all that is on record: its seals, and what waits to be sealed."""

from __future__ import annotations

from django.db import models
from django.db.models.functions import Now


class ChainTail(models.Model):
    """An entry that is not sealed yet. The guard of its table writes it, with the entry."""

    kind = models.CharField("table", max_length=63)
    row = models.BigIntegerField()
    at = models.DateTimeField(db_default=Now())

    def __str__(self) -> str:
        return f"{self.kind} {self.row}"


class ChainForm(models.Model):
    """Of which columns an entry's digest was made: a table has another form with new columns."""

    table = models.CharField(max_length=63)
    columns = models.TextField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["table", "columns"], name="one_form_of_its_columns")
        ]

    def __str__(self) -> str:
        return self.table


class ChainSeal(models.Model):
    """One link of the chain: ``entries`` (:mod:`catalog.chain.packing`) and the digest of all that
    came before with them. ``why`` is blank where entries were sealed as they came; else some were
    let go or written anew, and this is what is left of them."""

    number = models.PositiveBigIntegerField(primary_key=True)
    at = models.DateTimeField(db_index=True)
    why = models.CharField(max_length=300, blank=True)
    entries = models.BinaryField()
    digest = models.BinaryField()

    class Meta:
        ordering = ["number"]

    def __str__(self) -> str:
        return f"seal {self.number}"
