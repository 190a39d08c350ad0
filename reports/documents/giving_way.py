"""What a label leaves out where its stock has little room: one order, for every label.

One step after the other until it fits. What the policy requires by name gives way in no step but
the last. The order is our own, no source: first what can be read elsewhere, last what somebody has
to know who holds the package in the hand.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Any

from assembly.rules.telling.accepted import ACCEPTED
from assembly.rules.telling.missing import missing_in_all, without_counts
from reports.documents.labels import LabelDocument

FEWER_WORDS = "Sterile only if indicator changed, intact, dry."
WHAT_IT_IS = IMPLANT, LOANER = "IMPLANT", "LOANER"
EXCEPTIONS = "EXCEPTIONS: READ ITS RECORD"
SEE_RECORD = "see the package's record"
LONG_NAMES = (60, 24)
"""Signs of a name that are printed where all of it does not fit. Our own choice."""
DRYING = re.compile(r", dry [^,)]*")

Change = Callable[[LabelDocument], LabelDocument]


@dataclass(frozen=True, slots=True)
class Step:
    """One thing that gives way, in words, and the label without it.

    ``element`` is its name in the policy, blank for what no policy requires.
    """

    gives: str
    change: Change
    element: str = ""


def _blank(*fields: str) -> Change:
    blank: dict[str, Any] = dict.fromkeys(fields, "")
    return lambda one: replace(one, **blank)


def _method_code(one: LabelDocument) -> LabelDocument:
    return replace(one, method=one.method.partition(" (")[0])


def _unknown_counted(one: LabelDocument) -> LabelDocument:
    many = len(one.unknown)
    return replace(one, unknown=(f"{many} not known: {SEE_RECORD}",)) if many else one


def _no_load_line(one: LabelDocument) -> LabelDocument:
    if one.load or "cycle" not in one.required:
        return one
    return replace(one, required=tuple(name for name in one.required if name != "load"))


def _lot_alone(one: LabelDocument) -> LabelDocument:
    """The lot for its parts; where it is not known yet, one line for it."""
    known = one.lot_number or not (one.sterilizer or one.cycle)
    if not known or not {"sterilizer", "cycle"} <= set(one.lot_holds):
        return one
    parts = ("sterilizer", "cycle", "load")
    asked = tuple(name for name in one.required if name not in parts)
    return replace(one, sterilizer="", cycle="", load="", required=asked,
                   lot_to_write=not one.lot_number)  # fmt: skip


def _small_code(one: LabelDocument) -> LabelDocument:
    return replace(one, small_code=True)


def _fewer_words(one: LabelDocument) -> LabelDocument:
    return replace(one, statement=FEWER_WORDS) if one.statement else one


def _nobody_named(one: LabelDocument) -> LabelDocument:
    return replace(one, flags=tuple(flag.partition(ACCEPTED)[0] for flag in one.flags))


def _exceptions_counted(one: LabelDocument) -> LabelDocument:
    """What a thing is stays; all that was accepted, is missing, stands in or was not known is one
    mark that sends to the record, and says first how much is missing."""
    is_so = tuple(flag for flag in one.flags if flag in WHAT_IT_IS)
    if len(one.marks) - len(is_so) < 2:  # one is no longer than the mark
        return one
    mark = EXCEPTIONS
    if one.missing:
        more = ", MORE" if len(one.marks) - len(is_so) > len(one.missing) else ""
        mark = f"{' '.join(missing_in_all(one.missing).split()[:2])}{more}: READ ITS RECORD"
    return replace(one, flags=(*is_so, mark), missing=(), instead=(), unknown=())


def _no_statement(one: LabelDocument) -> LabelDocument:
    """Last of all, and also where the policy asks for it: what stands reversed is told instead."""
    asked = tuple(name for name in one.required if name != "shelf life")
    return replace(one, statement="", required=asked)


def _brief(one: LabelDocument) -> LabelDocument:
    return replace(one, missing=tuple(without_counts(words) for words in one.missing))


def _in_short(one: LabelDocument) -> LabelDocument:
    many = len(one.instead)
    instead = (f"{many} SUBSTITUTE{'S' * (many > 1)}",) if many else ()
    missing = (f"{missing_in_all(one.missing)}: see the count sheet",) if one.missing else ()
    return replace(one, missing=missing, instead=instead)


ORDER = (
    Step("the temperature and times of the cycle", _method_code, "method"),
    Step("what was not known, each in its sentence: counted instead", _unknown_counted),
    Step("a line for the load, where there is one for the cycle", _no_load_line),
    Step("single or double", _blank("single_or_double"), "single or double"),
    Step("what it is packed in", _blank("package"), "package"),
    Step("the cycle it is meant for", _blank("method"), "method"),
    Step("sterilizer, cycle and load, where the lot names them", _lot_alone),
    Step("how many of what is missing are in", _brief),
    Step("the hospital", _blank("hospital"), "hospital"),
    Step("the statement in full: in fewer words instead", _fewer_words),
    Step("how many pieces", _blank("quantity")),
    Step(
        "the width of the code, from 0.5 mm a module to the least; its GS1 key in words",
        _small_code,
    ),
    Step("what is missing or stands in, each in its sentence: counted instead", _in_short),
    Step("where it goes", _blank("department"), "destination"),
    Step("its number in the catalog", _blank("item_number")),
    Step("who accepted what is against the rules", _nobody_named),
    Step("the statement", _no_statement),
    Step("exceptions one by one: one mark that sends to the record instead", _exceptions_counted),
)
"""What gives way, in this order."""

STAYS = (
    "the contents (where it is longer than its stock, its number and first words) and which of "
    "several trays", "the code", "the lot", "the date", "the packer",
    "a use-by date", "implant and loaner", "how much is missing, that there are exceptions",
)  # fmt: skip
"""What no label goes without."""

OF_A_VOID_ONE = (
    Step("what is missing, not known or flagged",
         lambda one: replace(one, missing=(), instead=(), unknown=(), flags=())),
    Step("why it is void", lambda one: replace(one, void=SEE_RECORD)),
)  # fmt: skip
"""What gives way besides on a label that is not to be used."""


def without_drying(method: str) -> str:
    """A cycle in words without its drying time: nobody who holds the package needs it.

    >>> without_drying("S134-3 (steam 134 °C, 3 min, dry 20 min)")
    'S134-3 (steam 134 °C, 3 min)'
    """
    return DRYING.sub("", method)


def wordings(document: LabelDocument) -> Iterator[LabelDocument]:
    """The label in full, then after each step that changes something of it; then the same with
    less and less of a long name."""
    yield from _each_step(document)
    for signs in LONG_NAMES:
        if len(document.what) > signs:
            yield from _each_step(replace(document, what=_begun(document, signs)))


def _begun(one: LabelDocument, signs: int) -> str:
    """Its number, once, and the first words of its name, with dots."""
    begun = one.what[:signs].removeprefix(f"{one.item_number} ")
    return f"{one.item_number} {begun.rpartition(' ')[0] or begun} …".strip()


def _each_step(document: LabelDocument) -> Iterator[LabelDocument]:
    yield document
    yield from (shorter for _, shorter in _steps(document))


def gave_way(document: LabelDocument, printed: LabelDocument) -> list[str]:
    """What gave way of a label where it is ``printed`` so, in words."""
    found = []
    if printed.what != document.what:
        found.append("the end of a long name")
        document = replace(document, what=printed.what)
    for gives, shorter in () if printed == document else _steps(document):
        found.append(gives)
        if shorter == printed:
            break
    return found


def _steps(document: LabelDocument) -> Iterator[tuple[str, LabelDocument]]:
    for step in (*ORDER, *(OF_A_VOID_ONE if document.void else ())):
        if step.element in document.required:
            continue
        shorter = step.change(document)
        if shorter != document:
            document = shorter
            yield step.gives, document
