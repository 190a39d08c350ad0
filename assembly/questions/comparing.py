"""An instrument's record was compared with the maker's current IFU: by whom, and when next."""

from __future__ import annotations

from django.utils import timezone

from assembly.judging.facts_from_catalog import policy_in_force
from assembly.ledger import Refused, begin_new, note, verb
from assembly.models import IfuComparison
from assembly.persons import CHANGE_INSTRUMENT, Person
from assembly.rules.telling.labelling import after_months
from catalog.actions import change_instrument
from catalog.models import Instrument


@verb(CHANGE_INSTRUMENT)
def compared(person: Person, pk: int, key: str, revision: str = "") -> IfuComparison:
    """Compared today, and the record agrees; the day of the next follows from the policy.

    ``revision`` is that of the maker's current IFU, and on record from now on; blank: the one on
    record still is the current one. Refused for a retired instrument.
    """
    if before := begin_new(IfuComparison, key, under=Instrument(pk=pk)):
        return before
    instrument = Instrument.objects.get(pk=pk)
    if instrument.retired:
        raise Refused(f"{instrument} is retired and no longer kept.")
    now = timezone.now()
    months = int(policy_in_force().number("ifu_review_months"))
    next_on = after_months(timezone.localdate(now), months)
    revision = revision.strip() or instrument.ifu_revision
    values = {"ifu_review_on": next_on, "ifu_revision": revision}
    change_instrument(person.actor("compared with the maker's current IFU"), instrument, values)
    made = IfuComparison(key=key, instrument=instrument, revision=revision, at=now, **person.by)
    made.save()
    note(person, made, None, {"revision": made.revision, "next": next_on})
    return made
