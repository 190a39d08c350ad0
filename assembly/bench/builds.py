"""Building a set: one verb, one function, each one transaction and one event.

Only the holder counts; taking a build over is an event that the first holder's page shows.
"""

from __future__ import annotations

from decimal import Decimal

from django.utils import timezone

from assembly.bench.tally import LineCount, line_of, tally_of
from assembly.ledger import Refused, begin, begin_new, note, verb, write
from assembly.models import Build, BuildEvent, BuildLine, Repair
from assembly.packages.recording import OUT_OF_USE
from assembly.persons import ASSEMBLE, Person
from assembly.upkeep.repairs import WHAT_IS_WRONG, end, lay_aside
from catalog.models import Container, InstrumentSet, Wrap

Kind, State = BuildEvent.Kind, Build.State
NOT_COUNTED = OUT_OF_USE.format(
    what="{what}", then="Lay it aside, and say that the line is short."
)  # fmt: skip
OPEN, RUNNING = (State.OPEN,), (State.OPEN, State.PACKED)
HEAVIEST_READING_G = Decimal(100_000)
"""Beyond this a reading is a slip: no set weighs 100 kg. Our own bound, no source."""


@verb(ASSEMBLE)
def start(person: Person, instrument_set: InstrumentSet, key: str) -> Build:
    """A build of the set's current count sheet, held by the person who begins it.

    Refused where no count sheet is approved. The same key gives the same build.
    """
    if before := begin_new(Build, key, under=instrument_set):
        return before
    sheet = instrument_set.current
    if sheet is None:
        raise Refused(f"No count sheet of {instrument_set.code} is approved. Ask a coordinator.")
    now = timezone.now()
    build = Build.objects.create(
        key=key,
        instrument_set=instrument_set,
        count_sheet=sheet,
        set_code=instrument_set.code,
        set_name=instrument_set.name,
        holder_id=person.pk,
        holder_name=person.name,
        held_since=now,
        started_by=person.name,
        started_at=now,
    )
    _copy_lines(build)
    write(build, person, key, kind=Kind.STARTED)
    note(person, build, None, {"state": build.state, "revision": sheet.revision})
    return build


def _copy_lines(build: Build) -> None:
    lines = build.count_sheet.lines.select_related("instrument").prefetch_related("substitutes")
    for line in lines:
        copy = BuildLine.objects.create(
            build=build,
            order=line.order,
            section=line.section,
            instrument=line.instrument,
            item_number=line.instrument.item_number,
            name=line.instrument.name,
            wanted=line.quantity,
            may_go_without=line.may_go_without,
            note=line.note,
        )
        if substitutes := line.substitutes.all():
            copy.substitutes.set(substitutes)


# --- counting -------------------------------------------------------------------------


@verb(ASSEMBLE)
def count(person: Person, build_pk: int, line_pk: int, quantity: int, key: str) -> BuildEvent:
    """``quantity`` pieces of a line are in. Refused beyond what the line wants."""
    build, before = begin(Build, build_pk, key, OPEN, person)
    if before:
        return before
    one = _line(build, line_pk)
    if one.line.instrument.retired:
        raise Refused(NOT_COUNTED.format(what=one.line.name))
    _room_for(one, quantity)
    return write(build, person, key, kind=Kind.COUNTED, line=one.line, quantity=quantity)


@verb(ASSEMBLE)
def substitute(
    person: Person, build_pk: int, line_pk: int, instrument_pk: int, quantity: int, key: str
) -> BuildEvent:
    """An accepted substitute is in instead. Refused for any other instrument."""
    build, before = begin(Build, build_pk, key, OPEN, person)
    if before:
        return before
    one = _line(build, line_pk)
    taken = next((other for other in one.stand_ins if other.pk == instrument_pk), None)
    if taken is None:
        raise Refused(
            f"That is no accepted substitute for {one.line.name}. "
            "Take one that the count sheet names, or say that the line is short."
        )
    _room_for(one, quantity)
    return write(build, person, key, kind=Kind.SUBSTITUTED, line=one.line, quantity=quantity,
                 instrument=taken)  # fmt: skip


@verb(ASSEMBLE)
def short(
    person: Person, build_pk: int, line_pk: int, quantity: int, reason: str, key: str
) -> BuildEvent:
    """``quantity`` pieces of a line cannot be found. Refused beyond what is missing."""
    build, before = begin(Build, build_pk, key, OPEN, person)
    if before:
        return before
    one = _line(build, line_pk)
    if not 1 <= quantity <= one.remaining:
        raise Refused(f"{one.line.name}: {one.remaining} to be found, so it cannot be "
                      f"{quantity} short. Undo a count first.")  # fmt: skip
    return write(
        build, person, key, kind=Kind.SHORT, line=one.line, quantity=quantity, reason=reason
    )


@verb(ASSEMBLE)
def damaged(person: Person, build_pk: int, line_pk: int, reason: str, key: str) -> BuildEvent:
    """One piece is damaged and goes to repair; out of the set again where all were in."""
    build, before = begin(Build, build_pk, key, OPEN, person)
    if before:
        return before
    if not reason.strip():
        raise Refused(WHAT_IS_WRONG)
    one = _line(build, line_pk)
    kind = Kind.TAKEN_OUT if not one.missing and one.counted else Kind.DAMAGED
    event = write(build, person, key, kind=kind, line=one.line, quantity=1, reason=reason,
                 instrument=one.line.instrument)  # fmt: skip
    lay_aside(person, one.line.instrument, reason, event=event,
              instrument_set=build.instrument_set)  # fmt: skip
    return event


@verb(ASSEMBLE)
def over(person: Person, build_pk: int, line_pk: int, key: str) -> BuildEvent:
    """One piece too many was found and is laid aside: on record, and not in the set.

    A piece that the count sheet does not list must not go into the OR uncounted.
    """
    build, before = begin(Build, build_pk, key, OPEN, person)
    if before:
        return before
    one = _line(build, line_pk)
    if one.missing:
        raise Refused(f"{one.line.name}: {one.missing} still missing. Count it instead.")
    return write(build, person, key, kind=Kind.OVER, line=one.line, quantity=1)


@verb(ASSEMBLE)
def weigh(
    person: Person,
    build_pk: int,
    grams: Decimal,
    key: str,
    as_read: str = "",
    weighed_in: str = "",
) -> BuildEvent:
    """What the scale reads for the closed package (g); it replaces the sum of the weights.

    ``as_read`` is the reading with its unit, ``weighed_in`` the code of the container or wrap:
    in another the package weighs otherwise.
    """
    build, before = begin(Build, build_pk, key, OPEN, person)
    if before:
        return before
    if not grams.is_finite() or not 0 < grams < HEAVIEST_READING_G:
        raise Refused(f"A reading of {grams:f} g is not taken. Read the scale again, and its unit.")
    if weighed_in and not _stocked(weighed_in):
        raise Refused(f"“{weighed_in}” is no container or wrap in stock. Load the page again.")
    data = {"grams": f"{grams:f}", "as_read": as_read or f"{grams:f} g"}
    if weighed_in:
        data["weighed_in"] = weighed_in
    return write(build, person, key, kind=Kind.READING, data=data)


def _stocked(code: str) -> bool:
    return any(
        model.objects.filter(code=code, in_stock=True).exists() for model in (Container, Wrap)
    )


@verb(ASSEMBLE)
def undo(person: Person, build_pk: int, key: str, event_pk: int | None = None) -> BuildEvent:
    """Takes the last step back; the step stays on record, with the undo.

    ``event_pk`` says which step the person saw as the last; Refused when it no longer is.
    """
    build, before = begin(Build, build_pk, key, OPEN, person)
    if before:
        return before
    last = tally_of(build).to_undo
    if last is None:
        raise Refused("There is nothing to undo.")
    if event_pk is not None and last.pk != event_pk:
        raise Refused("Something was done since. Look again, then undo.")
    end(Repair.objects.filter(event=last, closed_at=None), person, Repair.Outcome.UNDONE)
    return write(build, person, key, kind=Kind.UNDO, undoes=last, line=last.line)


def _line(build: Build, line_pk: int) -> LineCount:
    try:
        return line_of(build, line_pk)
    except BuildLine.DoesNotExist:
        raise Refused("That line is not in this set. Load the page again.") from None


def _room_for(one: LineCount, quantity: int) -> None:
    if quantity < 1:
        raise Refused("Count one or more.")
    if not one.missing:
        raise Refused(f"{one.line.name} is complete: {one.inside} of {one.line.wanted} are in. "
                      "Lay what is too many aside, outside the set.")  # fmt: skip
    if quantity > one.missing:
        raise Refused(f"{one.line.name}: only {one.missing} more belong in. Nothing was counted.")


# --- whose it is ----------------------------------------------------------------------


@verb(ASSEMBLE)
def ask_for(person: Person, build_pk: int, key: str) -> BuildEvent:
    """Somebody else asks the holder for the build; the holder's page shows it."""
    build, before = begin(Build, build_pk, key, RUNNING)
    if before:
        return before
    if build.holder_id == person.pk:
        raise Refused("You hold it already.")
    return write(build, person, key, kind=Kind.ASKED, data={"person": person.pk})


@verb(ASSEMBLE)
def take_over(person: Person, build_pk: int, key: str) -> BuildEvent:
    """The build changes hands: on record, and shown to whoever held it."""
    build, before = begin(Build, build_pk, key, RUNNING)
    if before:
        return before
    if build.holder_id == person.pk:
        raise Refused("You hold it already.")
    return _hand(build, person, person, key)


@verb(ASSEMBLE)
def hand_over(person: Person, build_pk: int, key: str) -> BuildEvent:
    """The holder gives the build to the person who asked for it."""
    build, before = begin(Build, build_pk, key, OPEN, person)
    if before:
        return before
    asked = tally_of(build).asked
    if asked is None:
        raise Refused("Nobody asks for it.")
    return _hand(build, person, Person(asked.data["person"], asked.by), key)


def _hand(build: Build, by: Person, to: Person, key: str) -> BuildEvent:
    was, now = build.holder_name, timezone.now()
    changes = {"holder_id": to.pk, "holder_name": to.name, "held_since": now}
    return write(build, by, key, changes, kind=Kind.TAKEN, data={"from": was, "to": to.name})
