"""Past the guards, and on record: what retention lets go, and what a migration writes anew.

Each leaves its key and its digest of before in the chain, so that every seal can still be
verified, and why it was done."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from itertools import groupby

from django.db import models

from catalog.chain import entries, packing, sealing
from catalog.chain.guards import let_through
from catalog.models import ChainForm, ChainSeal

Digests = dict[int, bytes]


class NotAsSealed(Exception):  # noqa: N818
    """Nothing was changed: an entry is not what was sealed. Says which."""


def let_go(rows: models.QuerySet[models.Model], why: str) -> int:
    """Delete these entries, and leave their stubs in the chain; how many they were."""
    sealing.seal_all()
    pks = list(rows.order_by("pk").values_list("pk", flat=True))
    forms = _forms_of(rows.model)
    with let_through():
        for first in range(0, len(pks), sealing.BATCH):
            chunk = pks[first : first + sealing.BATCH]
            was = _as_sealed(rows.model, forms, chunk)
            rows.model._base_manager.filter(pk__in=chunk).delete()
            _write(rows.model, forms, was, {}, why)
    return len(pks)


@contextmanager
def written_anew(
    model: type[models.Model], why: str, without: Iterable[str] = ()
) -> Iterator[None]:
    """For migrations: what is done here to entries of the table is on record as another writing.

    ``model`` may be the one of the migration. ``without`` are columns that are sealed no longer,
    because they go.
    """
    sealing.seal_all()
    before = _forms_of(model)
    after = before
    if without:
        left = {key: [one for one in _columns(form) if one not in without]
                for key, (form, _) in before.items()}  # fmt: skip
        made = {tuple(one): sealing.form_of(model, one) for one in left.values()}
        after = {key: (made[tuple(one)], b"") for key, one in left.items()}
    with let_through():
        was = _as_sealed(model, before, sorted(before))
        yield
        now = _digests(model, after, sorted(after))
        changed = {pk: one for pk, one in was.items() if without or now.get(pk) != one}
        _write(model, after, changed, now, why)


def _forms_of(model: type[models.Model]) -> dict[int, tuple[int, bytes]]:
    """The form and the kept bytes of each sealed entry of the table that was not let go."""
    mine = set(ChainForm.objects.filter(table=model._meta.db_table).values_list("pk", flat=True))
    found: dict[int, tuple[int, bytes]] = {}
    for seal in ChainSeal.objects.iterator(200):
        width = packing.BOTH if seal.why else packing.KEPT
        for form, pk, kept in packing.unpacked(bytes(seal.entries), width):
            if form in mine:
                found[pk] = (form, kept[32:] if seal.why else kept)
    return {pk: one for pk, one in found.items() if one[1] != packing.NOTHING}


def _columns(form: int) -> list[str]:
    return ChainForm.objects.get(pk=form).columns.split(",")


def _digests(
    model: type[models.Model], forms: dict[int, tuple[int, bytes]], pks: list[int]
) -> Digests:
    found: Digests = {}
    for form, some in groupby(sorted(pks, key=lambda pk: forms[pk][0]), lambda pk: forms[pk][0]):
        found |= entries.digests(model, _columns(form), some)
    return found


def _as_sealed(
    model: type[models.Model], forms: dict[int, tuple[int, bytes]], pks: list[int]
) -> Digests:
    """The digests of these entries. NotAsSealed where one was changed or is gone."""
    found = _digests(model, forms, pks)
    for pk in pks:
        if not found.get(pk, b"").startswith(forms[pk][1]):
            raise NotAsSealed(f"{model._meta.verbose_name} {pk} is not as it was sealed. Nothing "
                              "was changed: run manage.py verify_records.")  # fmt: skip
    return found


def _write(
    model: type[models.Model], forms: dict[int, tuple[int, bytes]], was: Digests, now: Digests,
    why: str,
) -> None:  # fmt: skip
    """The stubs: digests before and after, in groups of one form, in order."""
    groups: dict[int, list[tuple[int, bytes]]] = {}
    for pk in sorted(was, key=lambda pk: (forms[pk][0], pk)):
        both = was[pk] + now.get(pk, packing.NOTHING)
        groups.setdefault(forms[pk][0], []).append((pk, both))
    lines = [
        f"{model._meta.db_table} {pk} {both[:32].hex()} {both[32:].hex()}"
        for some in groups.values()
        for pk, both in some
    ]
    if lines:
        sealing.write_seal(groups, lines, why)
