"""Setting the department's own policy values: checked, sourced, dated, on record."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from django.db import transaction
from django.utils import timezone

from assembly.judging.facts_from_catalog import policy_in_force
from assembly.models import PolicyOverride
from assembly.rules.policy.presets import presets
from assembly.rules.policy.values import NOT_SET, Policy, PolicyError, Value, default_parameters
from catalog.actions import Actor, record
from catalog.models import Change


@transaction.atomic
def override_value(
    actor: Actor, name: str, value: object, *, since: date, source: str, clause: str = ""
) -> PolicyOverride:
    """One value of the department's own from ``since`` on; ``actor.reason`` says why.

    PolicyError names the value and what is wrong with it: an unknown name, a value out of
    its bounds, no source, no reason, or the last limit on what a set may weigh not set.
    """
    parameter = default_parameters().get(name)
    if parameter is None:
        raise PolicyError("policy", name, "is not a value this policy knows")
    if not source.strip():
        raise PolicyError("policy", name, "needs a source: where does the value come from?")
    if not actor.reason.strip():
        raise PolicyError("policy", name, "needs a reason: why does the department set it?")
    checked = parameter.checked(value)
    before = PolicyOverride.objects.filter(name=name, since__lte=since).last()
    override = PolicyOverride(
        name=name,
        value=list(checked) if isinstance(checked, tuple) else checked,
        since=since,
        source=source.strip(),
        clause=clause.strip(),
        reason=actor.reason.strip(),
        set_by=actor.name,
        set_at=timezone.now(),
    )
    override.save()
    check_limited(policy_in_force(since))
    was = before.value if before else parameter.on(since).value
    record(
        actor,
        Change.Verb.CHANGED,
        override,
        name,
        {"value": was},
        {"value": override.value, "from": since.isoformat(), "source": override.source},
    )
    return override


WEIGHT_LIMITS = ("gross_limit_g", "load_limit_g", "net_limit_g")


def check_limited(policy: Policy) -> None:
    """PolicyError where nothing would bound what a set weighs any more."""
    if all(policy.number_or_none(name) is None for name in WEIGHT_LIMITS):
        titles = ", ".join(policy.parameters[name].title for name in WEIGHT_LIMITS)
        raise PolicyError("policy", WEIGHT_LIMITS[0], f"at least one must stay set of: {titles}")


@transaction.atomic
def apply_preset(actor: Actor, name: str, *, since: date) -> list[PolicyOverride]:
    """Every value of a preset as the department's own; PolicyError for an unknown preset."""
    preset = presets().get(name)
    if preset is None:
        raise PolicyError("presets", name, f"choose from {', '.join(presets())}")
    return [
        override_value(
            replace(actor, reason=f"preset: {preset.title}"),
            key,
            entry.value,
            since=since,
            source=entry.source,
            clause=entry.clause,
        )
        for key, entry in preset.on(since).items()
    ]


def read_value(name: str, text: str) -> Value:
    """What a person typed for a value, as the policy holds it; PolicyError when it is none.

    >>> read_value("side_clearance_mm", "30")
    30.0
    >>> read_value("kinds_in_order", "wrap, pouch")
    ('wrap', 'pouch')
    """
    parameter = default_parameters().get(name)
    if parameter is None:
        raise PolicyError("policy", name, "is not a value this policy knows")
    text = text.strip()
    if not text or text.casefold() == NOT_SET:
        return parameter.checked(None)
    if parameter.several:
        return parameter.checked([word.strip() for word in text.split(",")])
    if parameter.unit in ("words", "text"):
        return parameter.checked(text)
    if parameter.unit == "yes or no":
        words = {"yes": True, "true": True, "no": False, "false": False}
        return parameter.checked(words.get(text.casefold(), text))
    try:
        number: object = float(text.replace(",", ".") if text.count(",") == 1 else text)
    except ValueError:
        number = text
    return parameter.checked(number)
