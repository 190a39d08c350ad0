"""What paper brings back: the skills checks that trainer and trainee have signed."""

from __future__ import annotations

from django.db import models

from catalog.models.history import AppendOnly


class SkillsCheck(AppendOnly):
    """One observed check of one person's work. Append-only; names are copied as text.

    ``steps`` holds each step in words and whether it was seen.
    """

    skill = models.CharField(max_length=120)
    trainee = models.CharField(max_length=150, db_index=True)
    trainer = models.CharField(max_length=150)
    observed_on = models.DateField("observed on")
    next_due = models.DateField("next due")
    steps = models.JSONField()
    note = models.CharField(max_length=300, blank=True)
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
        ]

    def __str__(self) -> str:
        return f"{self.trainee}, {self.skill}, {self.observed_on}"

    @property
    def not_yet(self) -> list[str]:
        """The steps that were not seen."""
        return [step["step"] for step in self.steps if not step["seen"]]
