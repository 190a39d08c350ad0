"""Each verb: its change and its record, together or not at all."""

from __future__ import annotations

import pytest
from django.db import IntegrityError

from catalog import actions
from catalog.models import Change, CountSheet
from tests.factories import catalog as make

pytestmark = pytest.mark.django_db
BEA = actions.Actor("bea", batch="b1", reason="yearly review")


def test_a_changed_instrument_keeps_its_old_value_on_record() -> None:
    instrument = make.Instrument(item_number="T-1", weight_g=40)
    actions.change_instrument(BEA, instrument, {"weight_g": 44})
    change = Change.objects.get()
    assert (change.before, change.after) == ({"weight_g": 40}, {"weight_g": 44})


def test_new_cycles_replace_the_old_ones() -> None:
    instrument = make.Instrument()
    actions.change_instrument(BEA, instrument, {}, cycles=[{"method": "eo"}])
    assert [cycle.method for cycle in instrument.cycles.all()] == ["eo"]


def test_a_refused_instrument_leaves_no_record() -> None:
    make.Instrument(item_number="T-1")
    with pytest.raises(IntegrityError):
        actions.add_instrument(BEA, {"item_number": "T-1", "name": "twice"})
    assert not Change.objects.exists()


def test_approving_a_draft_retires_the_revision_in_force() -> None:
    old = make.CountSheet(revision=1)
    line = {"order": 1, "instrument": make.Instrument(), "quantity": 1}
    draft = actions.add_count_sheet(BEA, old.instrument_set, 2, [line])
    actions.approve_count_sheet(BEA, draft)
    old.refresh_from_db()
    assert (old.state, draft.state) == (CountSheet.State.RETIRED, CountSheet.State.CURRENT)
