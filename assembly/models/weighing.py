"""What a physical set weighs when it is complete, so that a scale can ask for a recount."""

from __future__ import annotations

from django.db import models

from assembly.models.base.written_once import WrittenOnce
from assembly.models.builds import BuildEvent
from catalog.models import InstrumentSet


class SetBaseline(WrittenOnce):
    """The reading before the lid of an assembly that was counted complete and signed, as that of
    one physical set: ``number`` tells those apart that bear the same code.

    The scale is kept as the policy had it. What voids it by hand is a :class:`BaselineVoid`; what
    else does is worked out (:mod:`assembly.bench.weighing.baselines`).
    """

    key = models.CharField(max_length=64, unique=True)
    instrument_set = models.ForeignKey(InstrumentSet, models.PROTECT, related_name="baselines")
    number = models.PositiveSmallIntegerField("number of the physical set")
    reading = models.OneToOneField(BuildEvent, models.PROTECT, related_name="baseline")
    grams = models.DecimalField("what the scale read", max_digits=9, decimal_places=1)
    step_g = models.FloatField("step of the scale, g")
    repeat_g = models.FloatField("repeatability of the scale, g")
    revision = models.PositiveIntegerField("revision of the count sheet")
    basket = models.CharField("basket it lay in", max_length=40, blank=True)

    class Meta:
        ordering = ["instrument_set", "number", "-pk"]
        constraints = [
            models.CheckConstraint(condition=models.Q(number__gt=0), name="baseline_of_a_number"),
            models.CheckConstraint(condition=models.Q(grams__gt=0), name="baseline_weighs"),
        ]

    def __str__(self) -> str:
        return f"{self.instrument_set.code} no. {self.number}: {self.grams} g"


class BaselineVoid(WrittenOnce):
    """A baseline is not relied on any more, and why."""

    key = models.CharField(max_length=64, unique=True)
    baseline = models.OneToOneField(SetBaseline, models.PROTECT, related_name="void")
    reason = models.CharField(max_length=300)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~models.Q(reason=""), name="baseline_void_has_reason")
        ]

    def __str__(self) -> str:
        return f"void: {self.baseline}"
