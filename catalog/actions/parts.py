"""A set that is split: a draft set with a draft count sheet for each part.

The set itself and its count sheet in force stay as they are, and so does what somebody packs from
them now. A part comes into force by itself never: each draft is compared and approved.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace

from django.db import transaction

from catalog.actions.count_sheets import add_count_sheet, copies_of
from catalog.actions.recording import Actor
from catalog.actions.sets import add_set
from catalog.models import CountSheet, InstrumentSet

COPIED = (
    "service", "packed_in", "container", "basket", "wrap", "pouches_inside", "pouches_validated",
    "sheet_other_names", "sheet_notes", "sheet_substitutes", "sheet_weights",
    "sheet_maker_numbers",
)  # fmt: skip
"""What each part has of its set. How large the closed pack is was measured of the whole."""


class PartsRefusedError(Exception):
    """The set cannot be split like this. Says why, for people."""


@transaction.atomic
def draft_parts(
    actor: Actor, sheet: CountSheet, parts: Sequence[tuple[str, Mapping[int, int]]]
) -> list[CountSheet]:
    """Drafts of the parts of a count sheet in force: each a letter and how many pieces of which
    line, by its place from 0.

    Together they have exactly the pieces of the sheet: PartsRefusedError where they do not, where
    the sheet is in force no more, or where a set has the code of a part.
    """
    whole = InstrumentSet.objects.select_for_update().get(pk=sheet.instrument_set_id)
    lines = copies_of(sheet)
    _check(whole, sheet, [line["quantity"] for line in lines], parts)
    actor = replace(actor, reason=f"split of {whole.code} revision {sheet.revision}")
    made: list[CountSheet] = []
    for letter, counts in parts:
        values = {name: getattr(whole, name) for name in COPIED}
        name = f"{whole.name[:180]}, part {letter} of {len(parts)}"
        part = add_set(actor, {"code": f"{whole.code}-{letter}", "name": name, **values})
        inside = [{**line, "quantity": counts[place]} for place, line in enumerate(lines)
                  if place in counts]  # fmt: skip
        left_out = [] if made else sheet.left_out
        made.append(add_count_sheet(actor, part, 1, inside, left_out))
    return made


def _check(
    whole: InstrumentSet, sheet: CountSheet, quantities: Sequence[int],
    parts: Sequence[tuple[str, Mapping[int, int]]],
) -> None:  # fmt: skip
    current = whole.current
    if current is None or current.pk != sheet.pk or whole.retired:
        raise PartsRefusedError(f"Revision {sheet.revision} of {whole.code} is in force no more. "
                                "Look at the split anew.")  # fmt: skip
    together: Counter[int] = Counter()
    for _, counts in parts:
        together.update(counts)
    if together != Counter(dict(enumerate(quantities))):
        raise PartsRefusedError("The parts do not add up to the count sheet. Look at them anew.")
    for letter, _ in parts:
        code = f"{whole.code}-{letter}"
        if taken := InstrumentSet.objects.filter(code__folded=code).first():
            raise PartsRefusedError(f"There is a set {taken} already. Edit its count sheet, or "
                                    "retire it and give its parts codes by hand.")  # fmt: skip
        if len(code) > (InstrumentSet._meta.get_field("code").max_length or 0):
            raise PartsRefusedError(f"{code} is too long for the code of a set.")
