"""What lies where in a set's basket, as somebody saved it for one revision of its count sheet."""

from __future__ import annotations

from django.db import models

from assembly.models.base.compressed import CompressedJSONField
from assembly.models.base.written_once import WrittenOnce
from catalog.models import CountSheet


class SetLayout(WrittenOnce):
    """The layers of one revision; the last one saved is in force.

    ``plan`` is what :func:`assembly.rules.layers.moving.kept` makes: what it lies in, the room
    (mm), how stringers lean, the places with the sizes that they were found for.
    """

    count_sheet = models.ForeignKey(CountSheet, models.PROTECT, related_name="layouts")
    key = models.CharField(max_length=64, unique=True)
    plan = CompressedJSONField()

    class Meta:
        verbose_name = "layout of a set"
        verbose_name_plural = "layouts of sets"
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"layout of {self.count_sheet}"
