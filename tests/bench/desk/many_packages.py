"""A department that has packed for long: packages made by the verbs, then copied with all that
belongs to them, row by row and each with its own numbers, until there are so many."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import suppress
from datetime import date, datetime, timedelta
from hashlib import sha256
from typing import Any

from django.apps import apps
from django.core.management.color import no_style
from django.db import connection, models, transaction

from assembly.ledger import Refused
from assembly.models import KeptDecision, Load, Package, ShelfPlace
from assembly.packages import shelf
from assembly.packages.recording import package_code
from catalog.chain.guards import let_through
from catalog.chain.sealing import seal_all
from catalog.models import Change, Instrument, InstrumentSet
from tests.factories import bench as at
from tests.factories import loads
from tests.factories import requests as ask

SINGLES, SETS = 12, 3
BETWEEN = timedelta(minutes=54)
"""From one group of packages to the next: 400 a day."""
AT_ONCE = 10
"""Groups of one transaction: so many entries wait for their seal, not more, as in a department."""
Model = type[models.Model]


class Department:
    """One group of packages as ``pack`` makes it, long ago, and groups like it that were packed
    since then, so long ``between`` two of them: ``most`` packages at the end, the last today."""

    def __init__(
        self, pack: Callable[[], list[Package]], most: int, between: timedelta = BETWEEN
    ) -> None:
        before = {model: _last(model) for model in _models()}
        self.packages = pack()
        self.keys = {one.code: one.pk for one in self.packages}
        self.between, self.last = between, -(-most // len(self.packages))
        self.groups = 1
        self.spans = {model: _last(model) - last for model, last in before.items()
                      if _last(model) > last}  # fmt: skip
        self._move_back(before)
        self._swept("VACUUM")
        seal_all()
        self.rows = {model: _rows(model, before[model]) for model in self.spans}

    def _move_back(self, before: dict[Model, int]) -> None:
        """The first group was packed first, and the catalog was there before it: rows come in the
        order of their moments."""
        with let_through(), connection.cursor() as cursor:
            for model in self.spans:
                after = 0 if model is Change else before[model]
                fields, key = model._meta.local_concrete_fields, model._meta.pk.column
                moments = [place for place, field in enumerate(fields)
                           if isinstance(field, models.DateField)]  # fmt: skip
                names = [connection.ops.quote_name(fields[place].column) for place in moments]
                for row in _rows(model, after) if moments else ():
                    values = [self._value(fields[place], row[place], 1 - self.last)
                              for place in moments]  # fmt: skip
                    cursor.execute(
                        f"UPDATE {model._meta.db_table} SET "
                        f"{', '.join(f'{name} = %s' for name in names)} WHERE {key} = %s",
                        [*values, row[[field.primary_key for field in fields].index(True)]],
                    )

    @property
    def count(self) -> int:
        return self.groups * len(self.packages)

    def grow(self, count: int, at_once: int = AT_ONCE) -> None:
        """As many groups more as make ``count`` packages, ``at_once`` in one transaction."""
        last = min(self.last, -(-count // len(self.packages)))
        for first in range(self.groups, last, at_once):
            groups = range(first, min(first + at_once, last))
            with transaction.atomic(), connection.cursor() as cursor:
                for model, rows in self.rows.items():
                    columns = [field.column for field in model._meta.local_concrete_fields]
                    names = ", ".join(connection.ops.quote_name(one) for one in columns)
                    marks = ", ".join(["%s"] * len(columns))
                    cursor.executemany(
                        f"INSERT INTO {model._meta.db_table} ({names}) VALUES ({marks})",
                        [self._copy(model, row, group) for group in groups for row in rows],
                    )
            seal_all()
            self._swept("VACUUM catalog_chaintail")
            self.groups = groups.stop
        with connection.cursor() as cursor:
            for sql in connection.ops.sequence_reset_sql(no_style(), list(self.rows)):
                cursor.execute(sql)
        self._swept("VACUUM ANALYZE", "ANALYZE")

    def _swept(self, sql: str, else_: str = "SELECT 1") -> None:
        """As PostgreSQL does by itself where there is a minute between two groups: what was taken
        off the open tail is no part of a package. A test's transaction lets it not."""
        swept = connection.vendor != "sqlite" and not connection.in_atomic_block
        with connection.cursor() as cursor:
            cursor.execute(sql if swept else else_)

    def _copy(self, model: Model, row: tuple[Any, ...], group: int) -> list[Any]:
        fields = model._meta.local_concrete_fields
        copied = [self._value(field, value, group)
                  for field, value in zip(fields, row, strict=True)]  # fmt: skip
        if model is Package:
            at_code = [field.name for field in fields].index("code")
            copied[at_code] = package_code(copied[0])
        if model is Change:
            at_key = [field.name for field in fields].index("object_key")
            if first := self.keys.get(code := copied[at_key]):
                copied[at_key] = package_code(first + group * self.spans[Package])
                copied[at_key + 1] = copied[at_key + 1].replace(code, copied[at_key], 1)
        return copied

    def _value(self, field: models.Field[Any, Any], value: Any, group: int) -> Any:
        """Keys and moments move on with the rows that they name, what is unique stays so."""
        if value is None:
            return None
        of = field.related_model if field.is_relation else field.model if field.primary_key else 0
        if of in self.spans:
            return value + group * self.spans[of]  # type: ignore[index]
        if isinstance(field, models.DateField):
            return _moved(value, group * self.between)
        if field.name == "key":
            return sha256(f"{value}{group}".encode()).hexdigest()[: len(value)]
        if field.model is Load and field.name in ("cycle", "lot"):
            return value + 10 * group if field.name == "cycle" else f"{value}-{group}"
        return value


def _moved(value: Any, by: timedelta) -> Any:
    """A moment or a day, as the database gives it: SQLite has texts."""
    if not isinstance(value, str):
        return value + (by if isinstance(value, datetime) else timedelta(days=by.days))
    if len(value) == len("2026-01-01"):
        return (date.fromisoformat(value) + timedelta(days=by.days)).isoformat()
    return (datetime.fromisoformat(value) + by).isoformat(" ")


def _models() -> Iterator[Model]:
    yield Change
    for one in apps.get_app_config("assembly").get_models(include_auto_created=True):
        if one is not KeptDecision:  # What is packed again as before shares it.
            yield one


def _last(model: Model) -> int:
    found = model._default_manager.aggregate(last=models.Max("pk"))["last"]
    return int(found or 0)


def _rows(model: Model, after: int) -> list[tuple[Any, ...]]:
    columns = (connection.ops.quote_name(field.column)
               for field in model._meta.local_concrete_fields)  # fmt: skip
    key = connection.ops.quote_name(str(model._meta.pk.column))
    with connection.cursor() as cursor:
        cursor.execute(
            f"SELECT {', '.join(columns)} FROM {model._meta.db_table} WHERE {key} > %s",
            [after],
        )
        return cursor.fetchall()


def of_the_demo() -> list[Package]:
    """Sets and singles of the demo's catalog in one load, whose cycle serves them, handed over: a
    fifth are sets."""
    packages = _first(InstrumentSet.objects.filter(retired=False), _a_set, SETS)
    packages += _first(Instrument.objects.filter(retired=False), ask.a_package, SINGLES)
    loads.released(*packages)
    place = ShelfPlace.objects.get(code="A1")
    for package in packages:
        shelf.put_away(at.person(), package, place, at.key())
        shelf.hand_over(at.person(), package, "OR 3", at.key())
    return packages


def _a_set(one: InstrumentSet) -> Package:
    return at.signed(at.a_build(one))


def _first(rows: Any, pack: Callable[[Any], Package], many: int) -> list[Package]:
    """The first so many that the rules pass."""
    found: list[Package] = []
    for row in rows.order_by("pk"):
        with suppress(Refused, AssertionError), transaction.atomic():
            found.append(pack(row))
        if len(found) == many:
            return found
    raise LookupError(f"Only {len(found)} of {many} can be packed")
