"""Whether who signs, releases or overrides is asked for name and password again: the policy's."""

from __future__ import annotations

from assembly.judging.facts_from_catalog import policy_in_force
from assembly.ledger import Refused
from assembly.persons import Person
from assembly.rules.policy.values import Policy


def check_asked(person: Person, policy: Policy | None = None) -> None:
    """Refused where the policy asks for it and they were not typed with this press."""
    if not person.asked and (policy or policy_in_force()).flag("asked_again"):
        raise Refused(f"Type your name and password again, {person.name}: you sign for this. "
                      "Nothing was recorded.")  # fmt: skip
