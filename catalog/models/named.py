"""What is looked for by its names, and a stamp that changes as soon as names do.

The look-up keeps the words of all names in memory, some thousands of rows to a block, and reads
a block anew where its stamp is another one. A stamp is written with what it stands for: whoever
writes names in the database's own words (``actions.staging``) says it with ``names_changed``.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterable
from typing import Any, ClassVar

from django.db import models

ROWS = 2048
"""So many keys in a block: few enough to be read while somebody types."""


class NamesBlock(models.Model):
    """The rows of one kind with the keys from ``block * ROWS`` on, as of a moment."""

    kind = models.CharField(max_length=20)
    block = models.PositiveIntegerField()
    stamp = models.CharField(max_length=32)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["kind", "block"], name="one_stamp_for_a_block")
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.block}"


def new_stamp() -> str:
    """One that no block ever had, here or in a database that is copied over this one."""
    return uuid.uuid4().hex


def names_changed(kind: str, keys: Iterable[int]) -> None:
    """These rows of a kind came, went or are called otherwise. After they were written: who reads
    meanwhile keeps the old names under the old stamp."""
    stamp = new_stamp()
    NamesBlock.objects.bulk_create(
        [NamesBlock(kind=kind, block=block, stamp=stamp)
         for block in sorted({key // ROWS for key in keys})],
        update_conflicts=True, unique_fields=["kind", "block"], update_fields=["stamp"],
    )  # fmt: skip


class Named(models.Model):
    """What the look-up finds by its names."""

    CALLED: ClassVar[tuple[str, ...]]
    """The columns that it is known by, its number first."""
    ALSO: ClassVar[tuple[str, ...]] = ("retired",)
    """Other columns that the look-up asks for."""

    class Meta:
        abstract = True

    def save(self, *args: Any, **kwargs: Any) -> None:
        super().save(*args, **kwargs)
        fields = kwargs.get("update_fields")
        if fields is None or not {*self.CALLED, *self.ALSO}.isdisjoint(fields):
            names_changed(str(self._meta.model_name), [self.pk])
