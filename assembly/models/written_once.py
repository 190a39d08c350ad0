"""What every row of a history has: who, when, and that it is never altered."""

from __future__ import annotations

from typing import Any, NoReturn

from django.db import models


class WrittenOnce(models.Model):
    """A row of a history: who and when, never altered and never deleted."""

    by = models.CharField(max_length=150)
    at = models.DateTimeField()

    class Meta:
        abstract = True

    def save(self, *args: Any, **kwargs: Any) -> None:
        if self.pk is not None:
            raise TypeError("What is on record is not altered; write the next step.")
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> NoReturn:
        raise TypeError("What is on record is not deleted.")
