"""Something was wrong with a package: what it was, who said so, and what was found of it."""

from __future__ import annotations

from django.db import models

from assembly.models.base.steps import Step, WithSteps
from assembly.models.loads import Load
from assembly.models.packages import Package
from assembly.models.recalls import Notice


class Wrong(models.TextChoices):
    """What was wrong."""

    WET = "wet", "Wet"
    HOLE = "hole", "Hole or tear"
    DIRTY = "dirty", "Dirty"
    INDICATOR = "indicator", "Indicator not changed"
    ITEM = "wrong item", "Wrong item"
    MISSING = "missing", "Something missing"
    LABEL = "label", "Label"
    OTHER = "other", "Something else"


HURTS = (Wrong.WET, Wrong.HOLE, Wrong.DIRTY, Wrong.INDICATOR)
"""A package with one of these is not sterile for certain: nobody uses it."""
OF_THE_LOAD = (Wrong.WET, Wrong.INDICATOR)
"""What one package of a load has, others of it may have: whoever holds one looks at it.
Common practice, no source."""


class Complaint(WithSteps):
    """One thing that was wrong with a package, as it was said at that moment.

    ``load`` is the one it was in, ``where`` the place where it was; ``item_number`` and
    ``item_name`` are those of the line that was missing or wrong, where that was said.
    """

    class State(models.TextChoices):
        OPEN = "open", "Not looked into yet"
        LOOKED_INTO = "looked into", "Looked into"
        MISTAKE = "mistake", "Said by mistake"

    ENDED = (State.LOOKED_INTO, State.MISTAKE)

    key = models.CharField(max_length=64, unique=True)
    kind = models.CharField("what was wrong", max_length=12, choices=Wrong)
    package = models.ForeignKey(Package, models.PROTECT, related_name="complaints")
    load = models.ForeignKey(Load, models.PROTECT, null=True, related_name="complaints")
    words = models.CharField(max_length=300, blank=True)
    item_number = models.CharField(max_length=40, blank=True)
    item_name = models.CharField(max_length=200, blank=True)
    where = models.CharField("where it was", max_length=200)
    state = models.CharField(max_length=12, choices=State, default=State.OPEN)
    by = models.CharField(max_length=150)
    at = models.DateTimeField(db_index=True)
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-at", "-pk"]
        permissions = [("look_into_complaint", "Can say what was found of a complaint")]
        constraints = [
            models.CheckConstraint(
                condition=~models.Q(kind="other") | ~models.Q(words=""),
                name="something_else_has_its_words",
            )
        ]

    def __str__(self) -> str:
        return f"{self.said}: {self.package.code}"

    @property
    def others_may_have_it(self) -> bool:
        """Whether others of its load have to be looked at."""
        return self.load_id is not None and self.kind in OF_THE_LOAD

    @property
    def said(self) -> str:
        """What was wrong, with the line and the words, in one line."""
        item = f"{self.item_name} ({self.item_number})" if self.item_number else ""
        return ": ".join(one for one in (self.get_kind_display(), item, self.words) if one)


class ComplaintStep(Step):
    """One thing that happened to a complaint; the last says what was found."""

    complaint = models.ForeignKey(Complaint, models.CASCADE, related_name="steps")
    state = models.CharField(max_length=12, choices=Complaint.State)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["complaint", "number"], name="one_complaint_step"),
            models.UniqueConstraint(fields=["complaint", "key"], name="one_complaint_step_a_key"),
        ]

    def __str__(self) -> str:
        return f"{self.at:%Y-%m-%d %H:%M} {self.by} {self.state}"


class ComplaintNotice(Notice):
    """What a department that holds others of the load is told. ``packages`` are those it held
    then: code, name, and who has it."""

    complaint = models.ForeignKey(Complaint, models.CASCADE, related_name="notices")
    packages = models.JSONField(default=list)

    class Meta(Notice.Meta):
        constraints = [
            models.UniqueConstraint(
                fields=["complaint", "department"], name="one_complaint_notice_each"
            )
        ]

    def __str__(self) -> str:
        return f"{self.department}: {self.complaint}"

    @property
    def words(self) -> str:
        """Who was told of how many, and who has read it."""
        read = f", read by {self.read_by}" if self.read_by else ""
        return f"{self.department} ({len(self.packages)} of it{read})"
