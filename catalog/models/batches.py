"""Spreadsheets on their way into the catalog, and what people said about their headings."""

from __future__ import annotations

from typing import Any

from django.core.serializers.json import DjangoJSONEncoder
from django.db import models

from catalog.models.history import AppendOnly


class SpreadsheetBatch(models.Model):
    """One uploaded spreadsheet: the file itself, what was read, and what became of it."""

    class Kind(models.TextChoices):
        INSTRUMENTS = "instruments", "Instruments"
        SETS = "sets", "Count sheets"

    class State(models.TextChoices):
        UPLOADED = "uploaded", "Uploaded"
        CHECKED = "checked", "Checked"
        APPLYING = "applying", "Being applied"
        APPLIED = "applied", "Applied"
        STOPPED = "stopped", "Stopped"
        REVERTED = "reverted", "Taken back"
        REFUSED = "refused", "Refused"

    class Job(models.TextChoices):
        LOOK = "look", "Reading the headings"
        CHECK = "check", "Checking every row"
        APPLY = "apply", "Writing into the catalog"
        REVERT = "revert", "Taking the rows back"
        NONE = "", ""

    file_name = models.CharField("file", max_length=200)
    sha256 = models.CharField(max_length=64, db_index=True)
    content = models.BinaryField(help_text="the file as it was uploaded")
    encoding = models.CharField("a person's word for its letters", max_length=20, blank=True)
    readings = models.JSONField("how its letters read otherwise", default=list, blank=True)
    kind = models.CharField("holds", max_length=12, choices=Kind, blank=True)
    state = models.CharField(max_length=10, choices=State, default=State.UPLOADED)
    job = models.CharField(max_length=10, choices=Job, blank=True, default=Job.NONE)
    host = models.CharField("machine on which the job runs", max_length=120, blank=True)
    by = models.CharField(max_length=150)
    at = models.DateTimeField("uploaded", auto_now_add=True)
    applied_by = models.CharField(max_length=150, blank=True)
    applied_account = models.PositiveIntegerField(null=True)
    applied_at = models.DateTimeField("applied", null=True, blank=True)
    proposals = models.JSONField("proposed columns, by sheet", default=list, blank=True)
    mapping = models.JSONField("chosen columns and units, by sheet", default=dict, blank=True)
    report = models.JSONField("the report without its rows", default=dict, blank=True)
    selection = models.JSONField("what to apply: groups and rows", default=dict, blank=True)
    catalog_mark = models.BigIntegerField(
        "last change on record when it was checked", null=True, blank=True
    )
    said = models.TextField("what the last job said", blank=True)

    class Meta:
        verbose_name = "spreadsheet"
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return f"{self.label} {self.file_name}"

    def save(self, *args: Any, **kwargs: Any) -> None:
        """The file never changes, so only the first save writes it."""
        if self.pk is not None and not self._state.adding and kwargs.get("update_fields") is None:
            fields = (field.name for field in self._meta.concrete_fields)
            kwargs["update_fields"] = [name for name in fields if name not in ("id", "content")]
        super().save(*args, **kwargs)

    @property
    def label(self) -> str:
        """The name of the batch on every change it makes."""
        return f"spreadsheet {self.pk}"

    @property
    def counts(self) -> dict[str, int]:
        """Rows by verdict, as the check found them."""
        return dict(self.report.get("counts", {}))

    @property
    def letters_asked(self) -> bool:
        """Whether nobody has said yet in which encoding a text table is to be read."""
        return bool(self.readings) and not self.proposals

    @property
    def file_problems(self) -> list[dict[str, Any]]:
        """Why the file as a whole could not be read; empty when it could."""
        return list(self.report.get("file_problems", []))


class SpreadsheetRow(models.Model):
    """One row of a checked spreadsheet: what the report says of it."""

    batch = models.ForeignKey(SpreadsheetBatch, models.CASCADE, related_name="rows")
    sheet = models.CharField(max_length=250)
    row = models.PositiveIntegerField()
    key = models.CharField("number", max_length=200, blank=True)
    name = models.CharField(max_length=200, blank=True)
    verdict = models.CharField(max_length=10)
    goes_in = models.BooleanField(default=False)
    values = models.JSONField(default=dict, encoder=DjangoJSONEncoder)
    changes = models.JSONField(default=list, encoder=DjangoJSONEncoder)
    problems = models.JSONField(default=list)
    cells = models.JSONField("column letter to what was typed, where it has problems", default=dict)
    same_as = models.JSONField(
        "may be the same as", null=True, blank=True, encoder=DjangoJSONEncoder
    )
    left_out = models.BooleanField("left out by a person", default=False)

    class Meta:
        ordering = ["batch", "pk"]
        indexes = [models.Index(fields=["batch", "verdict"], name="row_of_batch_by_verdict")]

    def __str__(self) -> str:
        return f"{self.sheet} row {self.row}: {self.key} {self.name}"

    @property
    def renumbers(self) -> str:
        """The number of the instrument that gets this row's number; "" where none does."""
        return next((each["old"] for each in self.changes if each["field"] == "item_number"), "")

    @property
    def may_renumber(self) -> bool:
        """Whether it may be an instrument that is gone from the list, with another number."""
        others = self.batch.report.get("updated", {}).get("other_numbers", ())
        return self.same_as is not None and self.same_as["key"] in others

    @property
    def done(self) -> list[dict[str, Any]]:
        """Its changes but those that are left out."""
        spares = self.batch.selection.get("spares")
        return [
            each for each in self.changes
            if not each.get("left_out") or (spares and each["field"] == "spares_on_hand")
        ]  # fmt: skip

    @property
    def taken(self) -> dict[str, Any]:
        """Its values but those of cells that are left out: what is written of a new one."""
        out = {each["field"] for each in self.changes if each.get("left_out")}
        return {name: value for name, value in self.values.items() if name not in out}

    @property
    def applied(self) -> bool:
        """Whether it stands in the catalog now, by what was selected."""
        if self.batch.state != SpreadsheetBatch.State.APPLIED or not self.goes_in or self.left_out:
            return False
        said = self.batch.selection
        whole = self.batch.kind == SpreadsheetBatch.Kind.SETS or self.verdict in said["groups"]
        return whole or self.pk in said.get("rows", ())


class SpreadsheetCorrection(AppendOnly):
    """What a person said of one cell: another value, or that it is right. The last one counts;
    the file stays as it was sent."""

    batch = models.ForeignKey(SpreadsheetBatch, models.CASCADE, related_name="corrections")
    sheet = models.CharField(max_length=250)
    row = models.PositiveIntegerField()
    column = models.CharField(max_length=3)
    heading = models.CharField(max_length=250, blank=True)
    was = models.TextField(blank=True)
    now = models.TextField(blank=True)
    right = models.BooleanField("it is right as it is", default=False)
    choice = models.JSONField(
        "columns and units by which it was right", null=True, blank=True, default=None
    )
    by = models.CharField(max_length=150)
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        verbose_name = "correction of a spreadsheet"
        ordering = ["batch", "pk"]

    def __str__(self) -> str:
        return f"{self.cell}: {self.was} → {self.now}"

    @property
    def cell(self) -> str:
        """The cell as the report names it."""
        return f"{self.sheet} {self.column}{self.row}"


class HeadingMapping(models.Model):
    """What a person said about one set of headings; proposed again when they come again."""

    kind = models.CharField(max_length=12, choices=SpreadsheetBatch.Kind)
    fingerprint = models.CharField(max_length=64)
    columns = models.JSONField("folded heading to column", default=dict)
    units = models.JSONField("column to unit of its bare numbers", default=dict)
    by = models.CharField(max_length=150)
    at = models.DateTimeField(auto_now=True)

    class Meta:
        verbose_name = "remembered headings"
        constraints = [
            models.UniqueConstraint(fields=["kind", "fingerprint"], name="headings_remembered_once")
        ]

    def __str__(self) -> str:
        return f"{self.kind}: {', '.join(self.columns)}"
