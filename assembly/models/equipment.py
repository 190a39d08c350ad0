"""The tests of sterilizers and sealers: one table, told apart by their kind."""

from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.db.models.functions import Lower

from assembly.models.base.steps import Step, WithSteps
from assembly.models.loads import Load
from catalog.models import Sealer, Sterilizer


class EquipmentTest(WithSteps):
    """One test of one sterilizer or sealer, and what came of it.

    ``day`` is the day it was run; ``read_c`` what a sealer read (°C). A biological indicator
    has its ``lot`` and waits in its ``incubator`` until it is read; ``load`` is the one it went
    through with, if any. A failed test that is signed off lets it run on, and stays failed for
    whoever asks for the last good one.
    """

    class Kind(models.TextChoices):
        AIR_REMOVAL = "air removal", "Air-removal test"
        LEAK = "leak", "Leak test"
        BIOLOGICAL = "biological", "Biological indicator"
        SEAL = "seal", "Seal test"

    class State(models.TextChoices):
        WAITS = "not read", "Not read yet"
        PASSED = "passed", "Passed"
        FAILED = "failed", "Failed"
        SIGNED_OFF = "signed off", "Failed, signed off"
        TAKEN_BACK = "taken back", "Taken back"

    ENDED = (State.PASSED, State.FAILED, State.SIGNED_OFF, State.TAKEN_BACK)

    key = models.CharField(max_length=64)
    kind = models.CharField(max_length=12, choices=Kind)
    sterilizer = models.ForeignKey(Sterilizer, models.PROTECT, null=True, related_name="tests")
    sealer = models.ForeignKey(Sealer, models.PROTECT, null=True, related_name="tests")
    day = models.DateField()
    state = models.CharField(max_length=12, choices=State)
    lot = models.CharField("lot number", max_length=60, blank=True)
    incubator = models.CharField(max_length=60, blank=True)
    read_c = models.DecimalField("read", max_digits=5, decimal_places=1, null=True)
    load = models.ForeignKey(Load, models.PROTECT, null=True, related_name="tests")
    done_by = models.CharField(max_length=150)
    done_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["done_at", "pk"]
        permissions = [
            ("record_equipment_test", "Can put the tests of sterilizers and sealers on record"),
            (
                "sign_off_equipment_test",
                "Can let equipment run on after a failed test, with a reason",
            ),
        ]
        indexes = [
            models.Index(fields=["kind", "day"]),
            models.Index(Lower("lot"), name="equipment_test_lot_folded"),
        ]
        constraints = [
            models.UniqueConstraint(fields=["key"], name="one_equipment_test_a_key"),
            models.CheckConstraint(
                condition=Q(kind="seal", sterilizer=None, sealer__isnull=False)
                | (~Q(kind="seal") & Q(sterilizer__isnull=False, sealer=None)),
                name="equipment_test_of_one_thing",
            ),
            models.CheckConstraint(
                condition=~Q(kind="biological") | ~Q(lot=""), name="biological_has_its_lot"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display().lower()} of {self.of}"

    @property
    def named(self) -> str:
        return f"{self} {self.day}"

    @property
    def detail(self) -> str:
        """What stands beside its result: lot, incubator, what was read."""
        parts = [f"lot {self.lot}"] if self.lot else []
        parts += [f"incubator {self.incubator}"] if self.incubator else []
        parts += [f"read {self.read_c.normalize():f} °C"] if self.read_c is not None else []
        return ", ".join(parts)

    @property
    def people(self) -> str:
        """Who did it, read it, signed it off: each once, in their order."""
        return ", ".join(dict.fromkeys(step.by for step in self.steps.all()))

    @property
    def may_be_taken_back(self) -> bool:
        return self.state in (self.State.WAITS, self.State.PASSED, self.State.FAILED)

    @property
    def of(self) -> Sterilizer | Sealer:
        """What was tested."""
        thing = self.sterilizer or self.sealer
        assert thing is not None
        return thing


class EquipmentTestStep(Step):
    """One thing that happened to a test, and how it stood then."""

    test = models.ForeignKey(EquipmentTest, models.CASCADE, related_name="steps")
    state = models.CharField(max_length=12, choices=EquipmentTest.State)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["test", "number"], name="one_equipment_test_step"),
            models.UniqueConstraint(fields=["test", "key"], name="one_equipment_test_step_a_key"),
        ]

    def __str__(self) -> str:
        return f"{self.at:%Y-%m-%d %H:%M} {self.by} {self.state}"
