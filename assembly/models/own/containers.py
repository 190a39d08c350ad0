"""Each container of the department by the number on it: its filter, its gasket, its faults."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from assembly.models.base.steps import Step, WithSteps
from catalog.models import Container


class OwnContainer(WithSteps):
    """One physical container; ``kind`` is what the supplies say of all of its kind.

    What is empty is not on record. ``fault`` is what is wrong with it now, blank where nothing is
    known to be; ``filter_until`` the day by which a filter that stays in is changed.
    """

    class Filter(models.TextChoices):
        EACH_TIME = "single use", "single use: a new one each time"
        STAYS = "reusable", "reusable: stays in until its date"
        VALVE = "valve", "a valve, no filter"

    class Gasket(models.TextChoices):
        GOOD = "good", "good"
        WORN = "worn", "worn"

    key = models.CharField(max_length=64, unique=True)
    number = models.CharField(max_length=20, unique=True, help_text="As it stands on it.")
    kind = models.ForeignKey(Container, models.PROTECT, related_name="own")
    filter_kind = models.CharField("filter", max_length=12, choices=Filter, blank=True)
    filter_changed_on = models.DateField(null=True, blank=True)
    filter_until = models.DateField("filter to be changed by", null=True, blank=True)
    gasket = models.CharField(max_length=6, choices=Gasket, blank=True)
    gasket_seen_on = models.DateField(null=True, blank=True)
    fault = models.CharField(max_length=300, blank=True)
    out_of_use = models.BooleanField(default=False)

    class Meta:
        ordering = ["number"]
        verbose_name = "container"
        constraints = [
            models.CheckConstraint(condition=~Q(number=""), name="own_container_has_its_number")
        ]

    def __str__(self) -> str:
        return f"{self.number} {self.kind.name}"

    @property
    def named(self) -> str:
        return self.number

    @property
    def as_it_is(self) -> str:
        """Its number with its filter and gasket as they are now, for the record of a package."""
        known = ((self.get_filter_kind_display(), "filter {}"),
                 (self.filter_changed_on, "filter changed {}"),
                 (self.filter_until, "to be changed by {}"), (self.gasket, "gasket {}"),
                 (self.gasket_seen_on, "gasket looked at {}"))  # fmt: skip
        return "; ".join([self.number, *(words.format(one) for one, words in known if one)])


class ContainerStep(Step):
    """One thing that happened to a container."""

    class Kind(models.TextChoices):
        ADDED = "added", "Taken into use"
        FILTER = "filter", "Filter changed"
        GASKET = "gasket", "Gasket looked at"
        FAULT = "fault", "Fault found"
        MENDED = "mended", "Mended"
        OUT = "out", "Out of use"
        BACK = "back", "Back in use"

    container = models.ForeignKey(OwnContainer, models.CASCADE, related_name="steps")
    kind = models.CharField(max_length=8, choices=Kind)
    said = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["container", "number"], name="one_container_step"),
            models.UniqueConstraint(fields=["container", "key"], name="one_container_step_a_key"),
        ]

    def __str__(self) -> str:
        return f"{self.at:%Y-%m-%d %H:%M} {self.by} {self.kind}"
