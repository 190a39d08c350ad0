"""The verbs of instruments for thousands at once: staged beside the catalog, moved in by one step.

SQLite has one lock for everybody who writes. A transaction that adds 50,000 instruments one
statement after the other keeps it for a quarter of a minute, and the benches wait. So the long
part, making the rows, happens beside the catalog, in tables of their own (``models.staged``) and in
transactions of some hundreds of rows. The short part is six statements in which the database
copies what is ready: until they are committed nobody sees any of it, afterwards everybody sees all
of it. The process may be killed at any moment: what is staged and not moved is nothing but waste,
and the next batch throws it away. The other way, rows in the catalog itself with a mark that keeps
them out of sight, would have every query of every app depend on the mark; here none has to know.

The records are nearly half of what is written. The first of them come with the step, so that
whatever is done later has a later record; the others follow from the staged rows in small pieces.
That they are due is on record with the step (``Unrecorded``): a killed process leaves them to the
next that looks (:func:`finish_records`), and no list is applied or taken back before they are
whole.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from itertools import islice
from typing import Any, TypeVar

from django.apps import apps
from django.db import connection, models, transaction
from django.db.models import Q
from django.utils import timezone

from catalog.actions.identifiers import FORMER_NUMBER
from catalog.actions.recording import Actor, as_recorded
from catalog.models import (
    Change,
    CycleOption,
    Identifier,
    Instrument,
    StagedCycle,
    StagedInstrument,
    Unrecorded,
)
from catalog.models.instruments import CycleFacts
from catalog.models.named import ROWS, new_stamp

ROWS_AT_A_TIME = 500
"""Rows of one transaction beside the catalog: the lock on SQLite is free again soon."""
MOST_USES = 10
"""Rows of one kind that are named as in use."""

T = TypeVar("T")
Values = Mapping[str, Any]
Cycles = Sequence[Mapping[str, Any]]
Verb = Change.Verb


def in_one_step(
    actor: Actor,
    stage: Callable[[Staging], None],
    within: Callable[[], None] = lambda: None,
    after: Callable[[], None] = lambda: None,
) -> None:
    """Do all that ``stage`` says, or nothing of it.

    ``within`` runs in the transaction of the step, before it, with the rows locked: it looks once
    more whether the step may be done (what it raises ends it), and writes what belongs to it.
    ``after`` runs in it too, when the instruments stand in the catalog.
    """
    finish_records()
    staging = Staging(actor)
    staging.clear()
    try:
        stage(staging)
        with transaction.atomic():
            staging.lock()
            within()
            staging.move()
            after()
        finish_records(actor.batch)
    finally:
        if not Unrecorded.objects.filter(batch=actor.batch).exists():
            staging.clear()


class Staging:
    """What the actor's batch is about to do to instruments.

    Each verb takes some hundreds of rows and writes them in a transaction of its own.
    """

    def __init__(self, actor: Actor) -> None:
        self.actor = actor
        self._columns: set[str] = set()
        self._adds = self._removes = self._cycles = False

    def add(self, rows: Sequence[tuple[Values, Cycles]]) -> None:
        """New instruments with their cycles."""
        self._adds = True
        self._write(
            (self._row(Verb.ADDED, Instrument(**values), None, values), cycles)
            for values, cycles in rows
        )

    def change(self, rows: Sequence[tuple[Instrument, Values, Cycles | None]]) -> None:
        """New values for some fields of each; cycles None leaves the cycles alone.

        Each instrument comes with its cycles prefetched. Where it gets another item number, the
        old one stays a code that leads to it.
        """
        self._write(
            (self._changed(Verb.CHANGED, one, values, cycles), cycles)
            for one, values, cycles in rows
        )

    def retire(self, instruments: Iterable[Instrument], retired: bool, reason: str) -> None:
        """Out of the lists, or back in them."""
        verb = Verb.RETIRED if retired else Verb.RESTORED
        self._write(
            (self._changed(verb, one, {"retired": retired}, None, reason), None)
            for one in instruments
        )

    def remove(self, instruments: Iterable[Instrument]) -> None:
        """Out of the catalog, which only what the batch itself has added may be."""
        self._removes = True
        self._write(
            (self._row(Verb.REMOVED, one, {**_image(one), "cycles": _words(given)}, None), None)
            for one in instruments
            for given in [one.cycles.all()]
        )

    def _changed(
        self, verb: Verb, one: Instrument, values: Values, cycles: Cycles | None, reason: str = ""
    ) -> StagedInstrument:
        before = {name: getattr(one, name) for name in values}
        if cycles is not None:
            self._cycles = True
            before["cycles"] = _words(one.cycles.all())
        old = one.item_number
        for name, value in values.items():
            setattr(one, name, value)
        self._columns.update(values)
        staged = self._row(verb, one, before, dict(values), reason)
        staged.new_cycles = cycles is not None
        staged.old_number = old if old != one.item_number else ""
        return staged

    def _row(
        self, verb: Verb, one: Instrument, before: Values | None, after: Values | None,
        reason: str = "",
    ) -> StagedInstrument:  # fmt: skip
        return StagedInstrument(
            **_image(one), batch=self.actor.batch, instrument_id=one.pk, verb=verb,
            before=before, after=after, reason=reason or self.actor.reason,
        )  # fmt: skip

    def _write(self, rows: Iterable[tuple[StagedInstrument, Cycles | None]]) -> None:
        found, options = [], list[StagedCycle]()
        for one, given in rows:
            made = [
                StagedCycle(
                    batch=self.actor.batch, item_number=one.item_number, order=order, **cycle
                )
                for order, cycle in enumerate(given or ())
            ]
            if one.after is not None and given is not None:
                one.after = {**one.after, "cycles": _words(made)}
            one.before, one.after = as_recorded(one.before), as_recorded(one.after)
            found.append(one)
            options += made
        write_rows((StagedInstrument, found), (StagedCycle, options))

    def lock(self) -> None:
        """Nobody changes the rows any more until the step is done, nor refers to them anew.

        On SQLite the transaction holds the one lock there is.
        """
        if connection.features.has_select_for_update:
            mine = self._staged().values("instrument")
            list(Instrument.objects.select_for_update().filter(pk__in=mine).values_list("pk"))

    def _staged(self) -> models.QuerySet[StagedInstrument]:
        return StagedInstrument.objects.filter(batch=self.actor.batch)

    def move(self) -> None:
        """All of it into the catalog, in the transaction of the caller: a second at the most."""
        said = {"batch": self.actor.batch, "former": FORMER_NUMBER, "stamp": new_stamp()}
        with connection.cursor() as cursor:
            for statement in self._statements():
                cursor.execute(statement, said)
        Unrecorded.objects.create(batch=self.actor.batch, actor=self.actor.name, at=timezone.now())
        _record_piece(self.actor.batch)

    def _statements(self) -> Iterator[str]:
        """Those that have something to do. What is removed comes first, and what gets another
        number before what is new: a number that was given up can be taken."""
        if self._removes or self._cycles:
            yield REMOVE_CYCLES
        if self._removes:
            yield REMOVE
        if columns := ", ".join(f'"{name}"' for name in sorted(self._columns)):
            yield CHANGE.replace("COLUMNS", columns)
        if Identifier.objects.filter(where_found=FORMER_NUMBER).exists():
            yield NO_FORMER_NUMBER_ANY_MORE
        if self._adds:
            yield ADD
        if self._adds or self._cycles:
            yield ADD_CYCLES
        if "item_number" in self._columns:
            yield KEEP_FORMER_NUMBERS
        named = {*Instrument.CALLED, *Instrument.ALSO}
        if self._adds or self._removes or self._columns & named:
            yield NAMES_CHANGED

    def clear(self) -> None:
        """Throw away what is staged for this batch."""
        forget(Q(batch=self.actor.batch))


def chunks(rows: Iterable[T], size: int) -> Iterator[list[T]]:
    """``rows`` in lists of ``size``, the last one shorter."""
    iterator = iter(rows)
    while chunk := list(islice(iterator, size)):
        yield chunk


def finish_records(batch: str = "") -> None:
    """Write the records that are still due, of one batch or of all, in small pieces."""
    due = Unrecorded.objects.filter(**({"batch": batch} if batch else {}))
    for name in due.values_list("batch", flat=True):
        while _record_piece(name):
            pass


@transaction.atomic
def _record_piece(batch: str) -> bool:
    """The next records of a batch, from its staged rows; whether any were due. Two that do it at
    the same moment take turns."""
    due = Unrecorded.objects.select_for_update().filter(batch=batch).first()
    if due is None:
        return False
    mine = StagedInstrument.objects.filter(batch=batch)
    keys = list(mine.order_by("pk").values_list("pk", flat=True)[:ROWS_AT_A_TIME])
    if not keys:
        due.delete()
        return False
    at = connection.ops.adapt_datetimefield_value(due.at)
    said: dict[str, Any] = {"batch": batch, "last": keys[-1], "actor": due.actor, "at": at}
    with connection.cursor() as cursor:
        cursor.execute(RECORD, said)
    mine.filter(pk__lte=keys[-1]).delete()
    return True


def write_rows(*of: tuple[type[models.Model], Sequence[models.Model]]) -> None:
    """Rows of several tables in one transaction, all made ready before it begins: while it lasts
    nobody else writes on SQLite."""
    ready = [ready_to_insert(model, rows) for model, rows in of]
    with transaction.atomic():
        for statement, values in ready:
            insert(statement, values)


def ready_to_insert(
    model: type[models.Model], rows: Sequence[models.Model]
) -> tuple[str, list[list[Any]]]:
    """The statement that writes rows of a table, and the values of each, without keys."""
    fields = [field for field in model._meta.concrete_fields if not field.primary_key]
    columns = ", ".join(f'"{field.column}"' for field in fields)
    places = ", ".join(["%s"] * len(fields))
    values = [
        [field.get_db_prep_save(getattr(row, field.attname), connection) for field in fields]
        for row in rows
    ]
    return f"INSERT INTO {model._meta.db_table} ({columns}) VALUES ({places})", values


def insert(statement: str, values: Sequence[Sequence[Any]]) -> None:
    """Write rows that were made ready."""
    if values:
        with connection.cursor() as cursor:
            cursor.executemany(statement, values)


def forget(which: Q) -> None:
    """Throw staged rows away, in small pieces."""
    for model in (StagedInstrument, StagedCycle):
        rows = model._default_manager.filter(which).order_by("pk")
        while keys := list(rows.values_list("pk", flat=True)[:ROWS_AT_A_TIME]):
            rows.order_by().filter(pk__lte=keys[-1]).delete()


def uses_of(
    things: models.QuerySet[Any], but: Collection[type[models.Model]] = ()
) -> list[models.Model]:
    """The first rows of each kind, ``but`` those, that refer to any of these instruments or sets,
    the cycles of an instrument aside: with them they cannot be removed."""
    found: list[models.Model] = []
    aside = (CycleOption, StagedInstrument, *but)
    for model in apps.get_models(include_auto_created=True):
        for field in model._meta.concrete_fields:
            if field.related_model is things.model and model not in aside:
                rows = model._default_manager.filter(**{f"{field.name}__in": things})
                found += rows[:MOST_USES]
    return found


def _image(one: Instrument) -> dict[str, Any]:
    """Every column of an instrument but its key."""
    return {field.attname: getattr(one, field.attname) for field in COPIED}


def _words(options: Iterable[CycleFacts]) -> list[str]:
    """The cycles as people read them."""
    return [str(option) for option in options]


# The step itself, in words that SQLite and PostgreSQL share.

COPIED = tuple(field for field in Instrument._meta.concrete_fields if not field.primary_key)
_OF_INSTRUMENT = ", ".join(f'"{field.column}"' for field in COPIED)
_OF_CYCLE = ", ".join(f'"{field.column}"' for field in CycleFacts._meta.local_fields)
_HERE = "FROM catalog_stagedinstrument AS staged WHERE staged.batch = %(batch)s"

REMOVE_CYCLES = f"""
    DELETE FROM catalog_cycleoption WHERE instrument_id IN
    (SELECT instrument_id {_HERE} AND (new_cycles OR verb = 'removed'))"""
REMOVE = f"""
    DELETE FROM catalog_instrument WHERE id IN
    (SELECT instrument_id {_HERE} AND verb = 'removed')"""
CHANGE = f"""
    UPDATE catalog_instrument SET (COLUMNS) =
    (SELECT COLUMNS {_HERE} AND staged.instrument_id = catalog_instrument.id)
    WHERE id IN (SELECT instrument_id {_HERE} AND verb <> 'removed')"""
NO_FORMER_NUMBER_ANY_MORE = f"""
    DELETE FROM catalog_identifier WHERE kind = 'text' AND where_found = %(former)s AND value IN
    (SELECT item_number {_HERE} AND verb <> 'removed')"""
ADD = f"""
    INSERT INTO catalog_instrument ({_OF_INSTRUMENT})
    SELECT {_OF_INSTRUMENT} {_HERE} AND verb = 'added' ORDER BY id"""
ADD_CYCLES = f"""
    INSERT INTO catalog_cycleoption (instrument_id, {_OF_CYCLE})
    SELECT catalog_instrument.id, {_OF_CYCLE} FROM catalog_stagedcycle AS staged
    JOIN catalog_instrument ON catalog_instrument.item_number = staged.item_number
    WHERE staged.batch = %(batch)s ORDER BY staged.id"""
KEEP_FORMER_NUMBERS = f"""
    INSERT INTO catalog_identifier (instrument_id, kind, value, where_found)
    SELECT instrument_id, 'text', old_number, %(former)s {_HERE} AND old_number <> ''
    AND NOT EXISTS (SELECT 1 FROM catalog_identifier WHERE kind = 'text' AND value = old_number)"""
NAMES_CHANGED = f"""
    INSERT INTO catalog_namesblock (kind, block, stamp)
    SELECT 'instrument', block, %(stamp)s FROM (
        SELECT id / {ROWS} AS block FROM catalog_instrument
        WHERE item_number IN (SELECT item_number {_HERE})
        UNION SELECT instrument_id / {ROWS} {_HERE} AND instrument_id IS NOT NULL
    ) AS touched WHERE TRUE
    ON CONFLICT (kind, block) DO UPDATE SET stamp = excluded.stamp"""
RECORD = f"""
    INSERT INTO catalog_change
    (at, actor, verb, kind, object_key, object_name, before, after, batch, reason)
    SELECT %(at)s, %(actor)s, verb, 'instrument', item_number, item_number || ' ' || name,
    before, after, batch, reason {_HERE} AND staged.id <= %(last)s ORDER BY id"""
