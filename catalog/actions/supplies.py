"""Verbs for supplies, and for sterilizers and their programmes."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from django.db import models, transaction

from catalog.actions.recording import Actor, record, take
from catalog.models import Change, LumenClaim, Programme
from catalog.models.supplies import AnySupply

Claims = Iterable[Mapping[str, Any]]
"""What a sterilizer's maker claims for lumens: rows by the names of their columns."""


def _split(
    model: type[models.Model], values: Mapping[str, Any]
) -> tuple[dict[str, Any], dict[str, list[Any]]]:
    """Plain columns and, apart from them, lists of other rows."""
    many = {field.name for field in model._meta.many_to_many}
    plain = {name: value for name, value in values.items() if name not in many}
    return plain, {name: list(values[name]) for name in many & set(values)}


@transaction.atomic
def add_supply(
    actor: Actor, model: type[AnySupply], values: Mapping[str, Any], claims: Claims = ()
) -> Any:
    """A new supply, programme (with its claims for lumens) or sterilizer.

    ValidationError when it cannot be.
    """
    columns, lists = _split(model, values)
    supply: Any = model(**columns)
    supply.full_clean()
    supply.save(force_insert=True)
    for name, rows in lists.items():
        getattr(supply, name).set(rows)
    after = dict(values)
    if claims:
        _set_claims(supply, claims)
        after["claims"] = claim_words(supply)
    record(actor, Change.Verb.ADDED, supply, supply.code, None, after)
    return supply


@transaction.atomic
def change_supply(
    actor: Actor, supply: Any, values: Mapping[str, Any], claims: Claims | None = None
) -> Any:
    """New values for some fields of a supply, lists of other rows among them.

    ``claims`` are all that a programme has from now on; None leaves them alone.
    """
    columns, lists = _split(type(supply), values)
    before, after = take(supply, columns)
    for name, rows in lists.items():
        were = list(getattr(supply, name).all())
        if {row.pk for row in were} != {row.pk for row in rows}:
            before[name], after[name] = were, rows
            getattr(supply, name).set(rows)
    if claims is not None:
        were = claim_words(supply)
        supply.claims.all().delete()
        _set_claims(supply, claims)
        are = claim_words(supply)
        if were != are:
            before["claims"], after["claims"] = were, are
    if after:
        supply.full_clean()
        supply.save()
        record(actor, Change.Verb.CHANGED, supply, supply.code, before, after)
    return supply


def _set_claims(programme: Programme, claims: Claims) -> None:
    for claim in claims:
        row = LumenClaim(programme=programme, **claim)
        row.full_clean()
        row.save()


def claim_words(programme: Programme) -> list[str]:
    """The programme's claims as people read them."""
    return [str(claim) for claim in LumenClaim.objects.filter(programme=programme)]
