"""What the department itself has decided: its own policy values over the shipped ones."""

from __future__ import annotations

from django.db import models

from assembly.rules.policy.values import Dated
from catalog.models.history import AppendOnly


class Basis(models.Model):
    """One row, with a word that is another one after each change of a supply, a cycle, a tip
    protector or a policy value. Triggers write it (``config/watched.py``), in the transaction of
    the change, whoever makes it; no word comes twice."""

    word = models.CharField(max_length=36)

    class Meta:
        default_permissions = ()

    def __str__(self) -> str:
        return self.word


class PolicyOverride(AppendOnly):
    """One value of the department's own, from a day on, with its source. Append-only."""

    name = models.CharField(max_length=60, db_index=True)
    value = models.JSONField(null=True)
    since = models.DateField("from")
    source = models.CharField(max_length=200)
    clause = models.CharField(max_length=120, blank=True)
    reason = models.CharField(max_length=300)
    set_by = models.CharField(max_length=150)
    set_at = models.DateTimeField()

    class Meta:
        ordering = ["name", "since", "pk"]
        permissions = [("override_policy", "Can set the department's own policy values")]
        constraints = [
            models.CheckConstraint(condition=~models.Q(source=""), name="override_has_source"),
            models.CheckConstraint(condition=~models.Q(reason=""), name="override_has_reason"),
        ]

    def __str__(self) -> str:
        return f"{self.name} = {self.value} from {self.since}"

    def dated(self) -> Dated:
        """The value as the rules read it."""
        value = tuple(self.value) if isinstance(self.value, list) else self.value
        return Dated(self.since, value, self.source, self.clause, "own", self.reason)
