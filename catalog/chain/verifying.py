"""Whether all that is on record is as it was sealed; else what was changed, removed or put in.

Every entry is read and its digest made anew, and every seal from its entries and the seal before.
What no digest of its own can show is shown by one that was kept elsewhere (:func:`holds`): that
the whole chain was made anew, or that its end is gone with the entries of that time."""

from __future__ import annotations

import zlib
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import chain, islice
from typing import Any

from django.db import models
from django.utils import timezone

from catalog.chain import entries, packing
from catalog.models import ChainForm, ChainSeal, ChainTail

AT_ONCE = 5000
"""Entries whose digests are held at once."""
Key = tuple[str, int]
UNREADABLE = (ArithmeticError, TypeError, ValueError, zlib.error)
"""What is raised by a row that was altered into something else than its columns hold."""


@dataclass(slots=True)
class Verified:
    """How many seals and entries were looked at, and each thing that is not as it was sealed."""

    seals: int = 0
    entries: int = 0
    wrong: list[str] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class _Entry:
    """One entry of a seal as it is kept there."""

    table: str
    columns: tuple[str, ...]
    pk: int
    kept: bytes


@dataclass(slots=True)
class _Link:
    """A seal with its entries; None where they cannot be read."""

    seal: ChainSeal
    entries: list[_Entry] | None


def verify(last: int | None = None) -> Verified:
    """All of the chain; with ``last`` its newest seals, as many as hold so many entries, and
    nothing of what stands in no seal. Nothing is changed."""
    return _Verifying().run(last)


def holds(digest: str) -> ChainSeal | None:
    """The seal with this digest, as it was printed or saved; None where the chain has none."""
    wanted = "".join(digest.split()).lower()
    return next((one for one in ChainSeal.objects.all() if one.digest.hex() == wanted), None)


class _Verifying:
    def __init__(self) -> None:
        self.found = Verified()
        self.models = entries.kept_models()
        self.forms = {one.pk: (one.table, tuple(one.columns.split(",")))
                      for one in ChainForm.objects.all()}  # fmt: skip
        self.known: dict[str, bytearray] = defaultdict(bytearray)
        self.later: dict[Key, list[tuple[int, bytes, bytes]]] = {}
        for link in map(self._link, ChainSeal.objects.exclude(why="")):
            for one in link.entries or ():
                said = (link.seal.number, one.kept[:32], one.kept[32:])
                self.later.setdefault((one.table, one.pk), []).append(said)

    def run(self, last: int | None) -> Verified:
        first, before = 1, packing.NOTHING
        if last is not None:
            first, before = self._start(last)
        links = map(self._link, ChainSeal.objects.filter(number__gte=first).iterator(200))
        number = first
        while window := list(_up_to(links, AT_ONCE)):
            digests = self._digests(window)
            for link in window:
                while number < link.seal.number:
                    self._wrong("removed", f"seal {number}")
                    number += 1
                self._check(link, before, digests)
                before, number = bytes(link.seal.digest), number + 1
        if last is None:
            self._in_no_seal()
        return self.found

    def _start(self, last: int) -> tuple[int, bytes]:
        """Where the newest seals begin that hold so many entries; the digest before them."""
        seen = 0
        for seal in ChainSeal.objects.order_by("-number").iterator(200):
            seen += len(self._link(seal).entries or ())
            if seen >= last:
                earlier = ChainSeal.objects.filter(number=seal.number - 1).first()
                return seal.number, bytes(earlier.digest) if earlier else packing.NOTHING
        return 1, packing.NOTHING

    def _link(self, seal: ChainSeal) -> _Link:
        width = packing.BOTH if seal.why else packing.KEPT
        try:
            found = list(packing.unpacked(bytes(seal.entries), width))
            rows = [_Entry(*self.forms[form], pk, kept) for form, pk, kept in found]
        except (KeyError, ValueError):
            return _Link(seal, None)
        return _Link(seal, rows)

    def _digests(self, links: list[_Link]) -> dict[tuple[str, tuple[str, ...], int], bytes]:
        wanted: dict[tuple[str, tuple[str, ...]], set[int]] = {}
        for one in chain.from_iterable(link.entries or () for link in links):
            wanted.setdefault((one.table, one.columns), set()).add(one.pk)
        found = {}
        for (table, columns), pks in wanted.items():
            if table not in self.models or not entries.has(self.models[table], columns):
                continue  # It goes by what was written when its columns went.
            for pk, digest in _readable(self.models[table], columns, sorted(pks)).items():
                found[table, columns, pk] = digest
        return found

    def _check(self, link: _Link, before: bytes, digests: dict[Any, bytes]) -> None:
        self.found.seals += 1
        if link.entries is None:
            self._wrong("changed", f"{link.seal}: its entries cannot be read")
            return
        whole, lines = True, []
        for one in link.entries:
            self.found.entries += 1
            self._mark(one)
            there = digests.get((one.table, one.columns, one.pk))
            if link.seal.why:
                was, became = one.kept[:32], one.kept[32:]
                lines.append(f"{one.table} {one.pk} {was.hex()} {became.hex()}")
                now = self._then(one, link.seal.number, there)
                whole &= self._same(one, link.seal, became, now)
            else:
                now = self._then(one, link.seal.number, there)
                whole &= self._same(one, link.seal, one.kept, now)
                lines.append((now or b"").hex())
        seal = link.seal
        made = packing.digest_of(before, seal.number, seal.at, seal.why, lines)
        if whole and made != bytes(seal.digest):
            self._wrong("changed", f"{seal}, or the one before it: the digest is another")

    def _then(self, one: _Entry, number: int, there: bytes | None) -> bytes | None:
        """The entry's digest after this seal: what a later seal says that it was, else as it is."""
        after = self.later.get((one.table, one.pk), ())
        return next((was for at, was, _ in after if at > number), there)

    def _same(self, one: _Entry, seal: ChainSeal, kept: bytes, now: bytes | None) -> bool:
        gone = kept == packing.NOTHING
        if gone and now is None:
            return True
        if gone:
            self._wrong("inserted", f"{self._named(one.table, one.pk)}, let go by {seal}")
        elif now is None:
            self._wrong("removed", f"{self._named(one.table, one.pk)}, {_sealed(seal)}")
        elif not now.startswith(kept):
            self._wrong("changed", f"{self._named(one.table, one.pk)}, {_sealed(seal)}")
        else:
            return True
        return False

    def _mark(self, one: _Entry) -> None:
        bits = self.known[one.table]
        if (place := one.pk >> 3) >= len(bits):
            bits.extend(bytes(place + 1 - len(bits) + 1024))
        bits[place] |= 1 << (one.pk & 7)

    def _in_no_seal(self) -> None:
        waiting: dict[str, set[int]] = {}
        for table, pk in ChainTail.objects.values_list("kind", "row"):
            waiting.setdefault(table, set()).add(pk)
        for table, model in self.models.items():
            bits, waits = self.known[table], waiting.get(table, set())
            for pk in model._base_manager.order_by("pk").values_list("pk", flat=True).iterator():
                sealed = 0 <= pk >> 3 < len(bits) and bits[pk >> 3] >> (pk & 7) & 1
                if not sealed and pk not in waits:
                    self._wrong("inserted", f"{self._named(table, pk)}, in no seal")
                waits.discard(pk)
            for pk in sorted(waits):
                self._wrong("removed", f"{self._named(table, pk)}, before it was sealed")

    def _wrong(self, how: str, what: str) -> None:
        self.found.wrong.append(f"{how}: {what}")

    def _named(self, table: str, pk: int) -> str:
        model = self.models.get(table)
        if model is None:
            return f"{table} {pk}"
        name = f"{model._meta.verbose_name} {pk}"
        try:
            row = model._base_manager.filter(pk=pk).first()
            return f"{name} ({row})" if row else name
        except UNREADABLE:
            return name


def _readable(
    model: type[models.Model], columns: tuple[str, ...], pks: list[int]
) -> dict[int, bytes]:
    """Digests of these rows; of one that holds what nobody can read, one that no entry has."""
    try:
        return entries.digests(model, columns, pks)
    except UNREADABLE:
        if len(pks) == 1:
            return {pks[0]: packing.NOTHING}
        half = len(pks) // 2
        return _readable(model, columns, pks[:half]) | _readable(model, columns, pks[half:])


def _sealed(seal: ChainSeal) -> str:
    return f"sealed {timezone.localtime(seal.at):%Y-%m-%d %H:%M} in {seal}"


def _up_to(links: Iterator[_Link], many: int) -> Iterator[_Link]:
    """The next links, until they hold so many entries."""
    seen = 0
    for link in islice(links, 1000):
        yield link
        seen += len(link.entries or ())
        if seen >= many:
            return
