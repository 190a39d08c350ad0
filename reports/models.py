"""What paper brings back, what it is printed on, and whose the posters of the wall are."""

from __future__ import annotations

from typing import Any

from django.db import models

from assembly.skills import Skill
from catalog.models.history import AppendOnly


class SkillsCheck(AppendOnly):
    """One observed check of one person's work. Append-only; names are copied as text.

    ``steps`` holds each step in words and what was ``said`` of it. ``kind`` is blank for a check
    of before kinds of work were told apart, which counts for none; ``watched`` is then unknown.
    """

    class Said(models.TextChoices):
        SEEN = "seen", "seen"
        NOT_YET = "not yet", "not yet"
        NOT_APPLICABLE = "n/a", "n/a"

    class Result(models.TextChoices):
        PASSED = "passed", "passed"
        AGAIN = "again", "again"

    kind = models.CharField(
        max_length=20, blank=True, choices=[(one.value, one.value) for one in Skill]
    )
    skill = models.CharField(max_length=120)
    trainee = models.CharField(max_length=150, db_index=True)
    trainer = models.CharField(max_length=150)
    observed_on = models.DateField("observed on")
    watched = models.PositiveSmallIntegerField("how many were watched", null=True)
    next_due = models.DateField("next due")
    steps = models.JSONField()
    result = models.CharField(max_length=10, choices=Result.choices)
    note = models.CharField("remarks", max_length=300, blank=True)
    recorded_by = models.CharField(max_length=150)
    recorded_at = models.DateTimeField()

    class Meta:
        verbose_name = "skills check"
        ordering = ["trainee", "-observed_on", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=~models.Q(trainee="") & ~models.Q(trainer=""),
                name="skills_check_has_both_names",
            ),
            models.CheckConstraint(
                condition=models.Q(next_due__gte=models.F("observed_on")),
                name="skills_check_due_after_it",
            ),
            models.CheckConstraint(
                condition=models.Q(result__in=["passed", "again"]),
                name="skills_check_has_a_result",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.trainee}, {self.skill}, {self.observed_on}"

    @property
    def not_yet(self) -> list[str]:
        """The steps that were not yet seen."""
        return [step["step"] for step in self.steps if step["said"] == self.Said.NOT_YET]


class WallPoster(models.Model):
    """What makes a poster the department's document: whose it is, which one, until when."""

    key = models.CharField(max_length=40, unique=True)
    owner = models.CharField(max_length=60, blank=True)
    number = models.CharField("document number", max_length=30, blank=True)
    valid_until = models.DateField("valid until", null=True, blank=True)

    class Meta:
        verbose_name = "wall poster"

    def __str__(self) -> str:
        return f"poster {self.key}"


def _measure(label: str, **options: Any) -> models.DecimalField:
    """A length in mm to 0.001 mm."""
    return models.DecimalField(label, max_digits=7, decimal_places=3, **options)


class LabelStock(models.Model):
    """A stock of the department's own; with the code of a proposal it takes that one's place.

    Without ``paper`` it is a roll or single labels; with it a sheet, and the last six are known.
    """

    code = models.SlugField(max_length=60, unique=True)
    name = models.CharField("what you call it", max_length=80)
    width_mm = _measure("width of a label")
    height_mm = _measure("height of a label")
    margin_mm = _measure("margin inside its edges")
    printer_dpi = models.PositiveSmallIntegerField("dots an inch of its printer")
    paper = models.CharField("what it is", max_length=10, blank=True)
    across = models.PositiveSmallIntegerField("labels across", null=True, blank=True)
    down = models.PositiveSmallIntegerField("labels down", null=True, blank=True)
    left_mm = _measure("left edge of the sheet to the first label", null=True, blank=True)
    top_mm = _measure("top edge of the sheet to the first label", null=True, blank=True)
    pitch_x_mm = _measure("left edge of a label to that of the next", null=True, blank=True)
    pitch_y_mm = _measure("top edge of a label to that of the one below", null=True, blank=True)
    retired = models.BooleanField("out of use", default=False)

    class Meta:
        verbose_name = "label stock"
        ordering = ["name", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(width_mm__gt=0, height_mm__gt=0, margin_mm__gt=0),
                name="label_stock_has_a_size",
            ),
            models.CheckConstraint(
                condition=models.Q(paper="")
                | models.Q(across__gt=0, down__gt=0, left_mm__gte=0, top_mm__gte=0,
                           pitch_x_mm__gt=0, pitch_y_mm__gt=0),
                name="label_sheet_has_a_grid",
            ),
        ]  # fmt: skip

    def __str__(self) -> str:
        return self.name
