"""What leaves the bench, each under a code of its own, and what it left behind."""

from __future__ import annotations

from typing import Any, ClassVar

from django.db import models

from assembly.models.base.compressed import CompressedJSONField, fingerprint, same
from assembly.models.base.indexes import where_known
from assembly.models.base.steps import WithSteps
from assembly.models.builds import Build
from assembly.models.own.containers import OwnContainer
from assembly.models.own.lots import SupplyLot
from assembly.rules.findings import metric
from assembly.rules.telling.accepted import accepted_marks
from catalog.models import Instrument, Sealer
from catalog.models.history import AppendOnly


class KeptDecision(AppendOnly):
    """What a package was decided on (:func:`assembly.judging.kept.on_record`): facts, findings and
    the policy's digest of that moment, so that its page never changes with the catalog.

    Read where one package is opened, and by no list. Written when something is packed that was
    not decided so before, word for word (:meth:`of`): packages share what they have in common.
    ``fingerprint`` is that of the body; None on record of before they were shared.
    """

    body = CompressedJSONField()
    fingerprint = models.BigIntegerField(null=True)

    class Meta:
        indexes = [models.Index(fields=["fingerprint"], name="decision_fingerprint")]

    def __str__(self) -> str:
        return f"decision {self.pk}"

    @classmethod
    def of(cls, body: dict[str, Any]) -> KeptDecision:
        """The one with this body, written where there is none."""
        mark = fingerprint(body)
        for one in cls.objects.filter(fingerprint=mark).order_by("pk"):
            if same(one.body, body):
                return one
        return cls.objects.create(body=body, fingerprint=mark)


class Package(WithSteps):
    """One closed package as it was decided, packed and checked; void when it was reopened.

    ``taken`` is the key of the option that it was packed by; all else of the decision is kept
    apart, in ``decided``.

    ``serves`` holds what a sterilizer's programme is judged by: the cycles of what is inside,
    the labels of what is around it (:mod:`assembly.rules.deciding.carried`), the
    ``programmes`` that served when it was closed and their ``words`` for the label. With
    ``its_own_alone``, or empty, only the programme in ``method`` serves. ``accepted`` is each
    finding that was taken against the rules, with who accepted it and why.

    ``checks`` were answered before it was closed. ``closed`` is what is looked at when it is,
    with the answers once it is sealed; until then it waits for its seal. What is sealed with heat
    names its ``sealer``, as it was called (``sealed_with``) and with its ``seal_findings`` of that
    moment. ``packed_with`` is the first of several that were packed alike in one press; blank for
    that one and for one alone. ``counted`` is the count sheet of a set as it was counted
    (:func:`assembly.bench.signing.on_record_counted`); of one alone, its container as it was.
    ``tray`` is which of several identical sets it is, as it was written: "2", or "2 of 3".
    ``here`` is one that lists look through: nobody made it void, handed it over, opened it or took
    it off the shelf.
    """

    class Kind(models.TextChoices):
        SINGLE = "single", "Single package"
        SET = "set", "Set"

    MAY_CHANGE: ClassVar[tuple[str, ...]] = (
        "last_step", "closed", "sealed_at", "sealed_by", "sealer", "sealed_with", "seal_findings",
        "here", "void_at", "void_by", "void_reason",
    )  # fmt: skip
    """Of an entry of the chain; all else is sealed as it was recorded."""

    key = models.CharField(max_length=64)
    code = models.CharField("package code", max_length=20)
    kind = models.CharField(max_length=10, choices=Kind)
    what = models.CharField(max_length=200)
    number = models.CharField("item number or set code", max_length=40)
    tray = models.CharField("which of several alike", max_length=20, blank=True)
    pieces = models.PositiveIntegerField()
    instrument = models.ForeignKey(Instrument, models.PROTECT, null=True, related_name="packages")
    build = models.ForeignKey(
        Build, models.PROTECT, null=True, related_name="packages", db_index=False
    )
    contents = CompressedJSONField()
    from_spares = models.BooleanField("taken from the loose spares", default=False)
    spares_on_record = models.PositiveIntegerField(
        "loose spares on record before it was taken", null=True, blank=True
    )
    supply = models.CharField("packed in", max_length=120)
    taken = models.CharField("key of what it is packed in", max_length=200)
    own_container = models.ForeignKey(
        OwnContainer, models.PROTECT, null=True, related_name="packages", db_index=False
    )
    method = models.CharField(max_length=120, blank=True)
    serves = CompressedJSONField("what its cycle is judged by", default=dict, blank=True)
    use_by = models.DateField("use by, where the packaging's IFU gives a time", null=True)
    decided = models.ForeignKey(KeptDecision, models.PROTECT, related_name="packages")
    checks = CompressedJSONField()
    closed = CompressedJSONField("checks once it is closed", default=list, blank=True)
    sealed_at = models.DateTimeField(null=True, blank=True)
    sealed_by = models.CharField(max_length=150, blank=True)
    sealer = models.ForeignKey(
        Sealer, models.PROTECT, null=True, related_name="packages", db_index=False
    )
    sealed_with = models.CharField("sealer, as it was called", max_length=20, blank=True)
    seal_findings = CompressedJSONField(
        "what its heat seal was judged by", default=list, blank=True
    )
    packed_with = models.ForeignKey(
        "self", models.PROTECT, null=True, related_name="alike", db_index=False
    )
    counted = CompressedJSONField("its count sheet as counted", default=dict, blank=True)
    shortages = models.JSONField(default=list, blank=True)
    not_known = models.JSONField(default=list, blank=True)
    accepted = models.JSONField("findings accepted one by one", default=list, blank=True)
    override_reason = models.CharField(max_length=300, blank=True)
    override_by = models.CharField(max_length=150, blank=True)
    packed_by = models.CharField(max_length=150)
    packed_at = models.DateTimeField(db_index=True)
    checked_by = models.CharField(max_length=150, blank=True)
    lots = models.ManyToManyField(SupplyLot, related_name="packages", blank=True)
    here = models.BooleanField("in force and not gone", default=True)
    void_at = models.DateTimeField(null=True, blank=True)
    void_by = models.CharField(max_length=150, blank=True)
    void_reason = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["-packed_at", "-pk"]
        permissions = [
            ("override_decision", "Can take a package that the rules refuse, with a reason")
        ]
        indexes = [
            models.Index(fields=["number"], name="package_number"),
            models.Index(fields=["packed_at"], condition=models.Q(here=True), name="package_here"),
            where_known("build", "package_of_build"),
            where_known("own_container", "package_in_container"),
            where_known("sealer", "package_of_sealer"),
            where_known("packed_with", "package_packed_with"),
        ]
        constraints = [
            models.UniqueConstraint(fields=["key"], name="one_package_a_key"),
            models.UniqueConstraint(fields=["code"], name="one_package_a_code"),
            models.CheckConstraint(
                condition=models.Q(override_by="") | ~models.Q(override_reason=""),
                name="package_override_has_reason",
            ),
            models.CheckConstraint(
                condition=models.Q(void_at__isnull=True) | ~models.Q(void_reason=""),
                name="package_void_has_reason",
            ),
            models.UniqueConstraint(
                fields=["build"],
                condition=models.Q(build__isnull=False, void_at__isnull=True),
                name="one_package_in_force_a_build",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.what}"

    @property
    def named(self) -> str:
        return self.code

    @property
    def decision(self) -> dict[str, Any]:
        """What it was decided on: one query, unless it was read ``select_related("decided")``."""
        body: dict[str, Any] = self.decided.body
        return body

    @property
    def is_void(self) -> bool:
        return self.void_at is not None

    @property
    def accepted_marks(self) -> tuple[str, ...]:
        """What was taken against the rules, each with who accepted it, as its label says it."""
        return accepted_marks(self.accepted, self.override_by)

    @property
    def judged_by(self) -> dict[str, Any]:
        """What another programme than its own is judged by; empty where none may serve."""
        return {} if self.serves.get("its_own_alone") else self.serves

    @property
    def programmes(self) -> list[str]:
        """The programmes that served it when it was closed, in words; its own where it alone."""
        return self.serves.get("programmes") or ([self.method] if self.method else [])

    @property
    def cycle_words(self) -> str:
        """Its programme; the method with the temperature where several serve."""
        return str(self.serves.get("words") or self.method)

    @property
    def spares_not_on_record(self) -> int:
        """Pieces taken from the loose spares that their count did not have; 0 if uncounted."""
        if not self.from_spares or self.spares_on_record is None:
            return 0
        return max(0, self.pieces - self.spares_on_record)

    @property
    def findings(self) -> list[dict[str, str]]:
        """The findings on record, as a table shows them; amounts as they were written then."""
        return [
            {
                "rule": one["rule"],
                "status": one["status"],
                "sentence": one["sentence"],
                "margin": "" if one["margin"] is None else metric(one["margin"], one["unit"]),
                "source": one["source"],
            }
            for one in self.decision.get("findings", [])
        ]
