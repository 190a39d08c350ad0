"""What has a history: a row that says how it stands now, and a step for all that led there."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, ClassVar

from django.db import models
from django.utils import timezone

from assembly.models.base.written_once import WrittenOnce


class Step(WrittenOnce):
    """One thing that happened to a row.

    The number is the guard: two people cannot write the same one. The key is that of the
    press: sent twice it is one step. A concrete step is unique in both, and names its row
    with ``related_name="steps"``.
    """

    number = models.PositiveIntegerField()
    key = models.CharField(max_length=64)
    reason = models.CharField(max_length=300, blank=True)

    again = False
    """Whether it was on record already when its verb was asked for with the same key."""

    class Meta:
        abstract = True


class WithSteps(models.Model):
    """A row that only :mod:`assembly.ledger` changes, together with the step that says so."""

    last_step = models.PositiveIntegerField(default=0)

    ENDED: ClassVar[tuple[str, ...]] = ()
    """The states in which nothing more is to be done with it."""

    if TYPE_CHECKING:
        steps: Any
        state: Any
        holder_id: Any
        holder_name: Any
        ended_at: Any

    class Meta:
        abstract = True

    @property
    def named(self) -> str:
        """What it is called on record: ``request 12``."""
        return f"{self._meta.verbose_name} {self.pk}"

    @property
    def standing(self) -> str:
        """How it stands, with who and when: the sentence that the slower of two people reads."""
        last = self.steps.last()
        state = self._meta.get_field("state").flatchoices  # type: ignore[union-attr]
        words = f"{self.named} is {dict(state)[self.state].lower()}"
        if last:
            because = f" ({last.reason})" if last.reason else ""
            words += f": {last.by}, {timezone.localtime(last.at):%H:%M}{because}"
        return f"{words[0].upper()}{words[1:]}."

    @property
    def held_by_another(self) -> str:
        """That somebody else has it, and what to do, for who is not its holder."""
        return f"{self.holder_name} has taken it. Nothing was changed."
