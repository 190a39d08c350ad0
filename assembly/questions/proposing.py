"""Values that somebody measured for what the record does not say, and what becomes of them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any

from django.utils import timezone

from assembly.ledger import Refused, begin, begin_new, lock_one, note, verb, write
from assembly.models import Proposal
from assembly.persons import ASSEMBLE, CHANGE_INSTRUMENT, Person
from assembly.rules.facts import instruments
from assembly.rules.facts.declared import declared
from assembly.rules.findings import Show, metric
from catalog.actions import change_instrument
from catalog.actions.recording import plain
from catalog.models import Instrument

COLUMN = {"sharp": "tip", "parts": "parts_apart"}
"""The catalog's column of a fact, where it has another name."""
PROPOSABLE = tuple(
    COLUMN.get(one.name, one.name) for one in declared(instruments.Instrument) if one.may_be_unknown
)
"""The columns that may be proposed: each fact that a record may leave open."""


def unknown(instrument: Instrument) -> list[str]:
    """The columns on which its record says nothing, in the order of the facts."""
    return [name for name in PROPOSABLE if not _known(instrument, name)]


def _known(instrument: Instrument, name: str) -> bool:
    return says(name, getattr(instrument, name))


def says(name: str, value: Any) -> bool:
    """Whether a column says something with this value: an empty text does where the column can
    also hold that nothing is known."""
    return value is not None and (value != "" or _column(name).null)


def waiting(instrument: Instrument | None = None) -> list[Proposal]:
    """What is proposed and not yet decided on, the oldest first: of one instrument, or all."""
    found = Proposal.objects.filter(state=Proposal.State.PROPOSED).select_related("instrument")
    return list(found.filter(instrument=instrument) if instrument else found)


def values_of(proposals: Iterable[Proposal]) -> dict[str, Any]:
    """The proposed values by column, as the catalog holds them."""
    return {
        name: _column(name).to_python(value)
        for one in proposals
        for name, value in one.values.items()
    }


def words_of(values: Mapping[str, Any], show: Show = metric) -> list[str]:
    """Each value as people read it: ``Width: 12 mm``, ``Has a ratchet: no``."""
    return [f"{_label(name)}: {_value_words(name, value, show)}" for name, value in values.items()]


def _column(name: str) -> Any:
    return Instrument._meta.get_field(name)


def _label(name: str) -> str:
    words = str(_column(name).verbose_name)
    return words[:1].upper() + words[1:]


def _value_words(name: str, value: Any, show: Show) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Decimal):
        return show(float(value), "g" if name.endswith("_g") else "mm")
    choices = dict(_column(name).flatchoices)
    return str(choices.get(value, value)) or "none"


@verb(ASSEMBLE)
def propose(
    person: Person, pk: int, values: Mapping[str, Any], key: str,
    measured_by: str = "", how: str = "",
) -> Proposal:  # fmt: skip
    """Values for what an instrument's record leaves open, for a coordinator to confirm.

    Refused where there is none, where the record says it by now, or where the same is
    proposed already.
    """
    before = begin_new(Proposal, key, under=Instrument(pk=pk))
    if before:
        return before
    instrument = Instrument.objects.get(pk=pk)
    _check(instrument, values)
    proposal = Proposal.objects.create(
        key=key, instrument=instrument, values=plain_of(values),
        measured_by=measured_by.strip() or person.name, note=how.strip(),
        asker_id=person.pk, asked_by=person.name, asked_at=timezone.now(),
    )  # fmt: skip
    write(proposal, person, key)
    note(person, proposal, None, {"proposed": words_of(values)})
    return proposal


def plain_of(values: Mapping[str, Any]) -> dict[str, Any]:
    """The values as a row of JSON holds them."""
    return {name: plain(value) for name, value in values.items()}


def _check(instrument: Instrument, values: Mapping[str, Any]) -> None:
    if instrument.retired:
        raise Refused(f"{instrument} is retired and no longer kept.")
    if not values:
        raise Refused("Nothing was measured: fill at least one field.")
    proposed = {name: one for one in waiting(instrument) for name in one.values}
    for name in values:
        if name not in PROPOSABLE:
            raise Refused(f"{name} is nothing that can be proposed.")
        if name in proposed:
            raise Refused(f"{_label(name)} is proposed already, by {proposed[name].asked_by}. "
                          "A coordinator has still to confirm it.")  # fmt: skip
        if _known(instrument, name):
            raise Refused(_on_record(instrument, name))


def _on_record(instrument: Instrument, name: str) -> str:
    value = _value_words(name, getattr(instrument, name), metric)
    return (f"{_label(name)} is on record already: {value}. Nothing was changed. Where that is "
            "wrong, a coordinator changes it on the page of the instrument.")  # fmt: skip


@verb(CHANGE_INSTRUMENT)
def confirm(person: Person, pk: int, key: str) -> Proposal:
    """The values go into the catalog; its history names who measured and who confirmed.

    Refused where the record says one of them by now.
    """
    proposal, before = begin(Proposal, pk, key, [Proposal.State.PROPOSED])
    if before:
        return proposal
    instrument = lock_one(Instrument, proposal.instrument_id)
    values = values_of([proposal])
    for name in values:
        if _known(instrument, name):
            raise Refused(_on_record(instrument, name))
    how = f", {proposal.note}" if proposal.note else ""
    because = f"measured by {proposal.measured_by}{how}; confirmed by {person.name}"[:300]
    change_instrument(person.actor(because), instrument, values)
    write(proposal, person, key, {"state": Proposal.State.CONFIRMED})
    return proposal


@verb(CHANGE_INSTRUMENT)
def turn_down(person: Person, pk: int, key: str, reason: str = "") -> Proposal:
    """The values do not go into the catalog; refused without a reason, which the asker reads."""
    proposal, before = begin(Proposal, pk, key, [Proposal.State.PROPOSED])
    if before:
        return proposal
    if not reason.strip():
        raise Refused(f"Write why it is turned down: {proposal.asked_by} reads it.")
    changes = {"state": Proposal.State.TURNED_DOWN}
    write(proposal, person, key, changes, reason=reason)
    return proposal


@verb(ASSEMBLE)
def take_back(person: Person, pk: int, key: str) -> Proposal:
    """Whoever proposed it does not any more."""
    proposal, before = begin(Proposal, pk, key, [Proposal.State.PROPOSED])
    if before:
        return proposal
    if proposal.asker_id != person.pk:
        raise Refused(f"{proposal.asked_by} proposed it. A coordinator turns it down.")
    write(proposal, person, key, {"state": Proposal.State.TAKEN_BACK})
    return proposal
