"""The layout of a set's basket: proposed for its count sheet as it is, saved, read again.

A layout belongs to one revision: the next one has none until somebody saves it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.db.models import Q
from django.utils import timezone

from assembly.judging.facts_from_catalog import lines_of
from assembly.judging.questions_from_catalog import set_question_for, shared_now
from assembly.ledger import Refused, begin_new, verb
from assembly.models import SetLayout
from assembly.persons import ASSEMBLE, Person
from assembly.rules.drawing.shapes import Scene
from assembly.rules.layers.laid import Asked, Laid, into_of, laid_as, lay_out
from assembly.rules.layers.moving import NoRoomError, Plan, as_kept, here
from assembly.rules.layers.scene import here_scene, layer_scene
from catalog.actions import record
from catalog.models import Change, CountSheet, InstrumentSet, Line


def asked_of(instrument_set: InstrumentSet, lines: Sequence[Line]) -> Asked:
    """What a layout is asked with: the lines, what they go into, the policy of today."""
    inside = [line.instrument for line in lines]
    shared = shared_now(Q(instrument_set=instrument_set) | Q(instrument__in=inside))
    question = set_question_for(instrument_set, lines, shared, out=())
    policy = shared.here.policy(timezone.localdate())
    return Asked(question.lines, into_of(question, policy), policy)


@dataclass(frozen=True)
class Shown:
    """A layout to be shown: what was saved where it still holds, else what is proposed.

    ``trouble`` says why what was saved is not shown.
    """

    laid: Laid
    saved: SetLayout | None
    trouble: str = ""

    @property
    def holds(self) -> bool:
        """Whether it is the saved one."""
        return self.saved is not None and not self.trouble


def layout_of(asked: Asked, sheet: CountSheet) -> Shown:
    """The layout of one revision."""
    saved = latest_of(sheet)
    if saved is None:
        return Shown(lay_out(asked), None)
    try:
        return Shown(laid_as(asked, saved.plan), saved)
    except NoRoomError as problem:
        return Shown(lay_out(asked), saved, str(problem))


def latest_of(sheet: CountSheet) -> SetLayout | None:
    """The layout in force of one revision; None where nobody saved one."""
    return SetLayout.objects.filter(count_sheet=sheet).last()


def earlier(instrument_set: InstrumentSet, sheet: CountSheet) -> SetLayout | None:
    """The last layout of an earlier revision; None where there is none."""
    rows = SetLayout.objects.select_related("count_sheet")
    return rows.filter(count_sheet__instrument_set=instrument_set).exclude(count_sheet=sheet).last()


@dataclass(frozen=True, slots=True)
class Here:
    """Where the pieces of one line lie: in words, and the layer drawn."""

    words: str
    scene: Scene | None


def here_of(sheet: CountSheet, instrument_set: InstrumentSet, line: int) -> Here | None:
    """Where a line (from 1) lies, as saved for the basket on record; None where nothing is."""
    plan = plan_of(latest_of(sheet), instrument_set)
    if plan is None or not (words := here(plan, line)):
        return None
    return Here(words, here_scene(plan, line))


def latest_by_sheet(sheets: Iterable[CountSheet]) -> dict[int, SetLayout]:
    """The layout in force of each revision that has one, by the key of the count sheet."""
    return {one.count_sheet_id: one for one in SetLayout.objects.filter(count_sheet__in=sheets)}


def plan_of(saved: SetLayout | None, instrument_set: InstrumentSet) -> Plan | None:
    """What was saved, where it is for what the set lies in by its record now."""
    if saved is None or saved.plan.get("into") != _into(instrument_set):
        return None
    return dict(saved.plan)


def layers_of(plan: Plan | None) -> tuple[Scene, ...]:
    """Each layer as it was saved, as boxes with the numbers of their lines."""
    if plan is None:
        return ()
    layout = as_kept(plan)
    return tuple(layer_scene(layout, n) for n in range(1, len(layout.layers) + 1))


def _into(instrument_set: InstrumentSet) -> str:
    """What a layout of the set names, by what is on record of it now."""
    if basket := instrument_set.basket:
        return f"basket {basket.code}"
    return f"container {instrument_set.container.code}" if instrument_set.container else ""


@verb(ASSEMBLE)
def save(person: Person, code: str, revision: int, plan: Plan, key: str) -> SetLayout:
    """The layout of a revision, from now on.

    Refused where the revision is no longer in force, or the layout is not of its lines, its
    sizes and its basket.
    """
    instrument_set = InstrumentSet.objects.get(code__folded=code)
    if before := begin_new(SetLayout, key, under=instrument_set):
        return before
    sheet = instrument_set.current
    if sheet is None or sheet.revision != revision:
        raise Refused(f"Revision {revision} is no longer in force: load the page again.")
    try:
        laid = laid_as(asked_of(instrument_set, lines_of(sheet)), plan)
    except NoRoomError as problem:
        raise Refused(f"{problem} Nothing was saved.") from problem
    made = SetLayout.objects.create(
        count_sheet=sheet, key=key, plan=laid.plan, at=timezone.now(), **person.by
    )
    after = {"layout": f"revision {revision}, {len(laid.plan['places'])} places"}
    record(person.actor(), Change.Verb.CHANGED, instrument_set, instrument_set.code, None, after)
    return made
