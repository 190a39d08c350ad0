"""What would change of 100,000 instruments: time, and every answer beside the rules one by one.

``python -m tests.bench.rules.what_if`` fills a database of its own with the demo's instruments
again and again, each size and weight up to a fifth off, and ``--sets`` sets of 40 lines. It asks
what a value would change, and holds ``--equal`` instruments, before and after, against the rules
for one package, whose time for all of them is reckoned from that. Processor time.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
import time
from pathlib import Path
from random import Random
from typing import Any

ROWS, SETS, EQUAL = 100_000, 200, 2_000
ASKED = ({"side_clearance_mm": "15"}, {"gross_limit_g": "9000"})
SIZES = ("length_mm", "width_mm", "height_mm", "weight_g", "width_open_mm")


def fill(rows: int, random: Random) -> None:
    """So many instruments more, like those of the demo, with the cycles of theirs."""
    from catalog.models import CycleOption, Instrument

    like = list(Instrument.objects.filter(retired=False).prefetch_related("cycles"))
    for start in range(0, rows, 5_000):
        made = [_copy(like[n % len(like)], n, random) for n in range(start, start + 5_000)][:rows]
        Instrument.objects.bulk_create(made)
        CycleOption.objects.bulk_create(
            _fresh(cycle, instrument=one)
            for one in made
            for cycle in like[int(one.item_number[3:]) % len(like)].cycles.all()
        )


def _fresh(row: Any, **changes: Any) -> Any:
    names = [field.attname for field in row._meta.concrete_fields if not field.primary_key]
    made = type(row)(**{name: getattr(row, name) for name in names})
    for name, value in changes.items():
        setattr(made, name, value)
    return made


def _copy(row: Any, number: int, random: Random) -> Any:
    def off(value: Any) -> Any:
        return None if value is None else round(float(value) * random.uniform(0.8, 1.2), 1)

    sizes = {name: off(getattr(row, name)) for name in SIZES}
    return _fresh(row, item_number=f"BW-{number}", **sizes)


def scalar(count: int, terms: Any, rows: Any) -> list[str]:
    """What so many instruments, spread over all, are packed in by the rules for one package."""
    from assembly.rules.deciding.choose import decide
    from assembly.rules.facts.question import Question

    said = []
    for row in spread(count, len(rows.keys)):
        question = Question(instrument=rows.catalog.facts(row), supplies=terms.supplies,
                            programmes=terms.programmes, protectors=terms.protectors)  # fmt: skip
        decision = decide(question, terms.policy)
        taken = decision.recommended
        said.append(f"{taken.kind} {taken.code}" if taken else str(decision.outcome))
    return said


def spread(count: int, rows: int) -> range:
    return range(0, rows, max(1, rows // count))


def held(found: Any, asked: Any, count: int) -> None:
    """Each of so many instruments: whether it is said to change, and from what to what."""
    from assembly.consequences.what_if import supposed, terms_of
    from assembly.consequences.whole_catalog import rows_now
    from assembly.judging.facts_from_catalog import department

    rows, here = rows_now(), department()
    began = time.process_time()
    before = scalar(count, terms_of(here), rows)
    after = scalar(count, terms_of(supposed(here, asked)), rows)
    took = time.process_time() - began
    told = {one.code: (one.before, one.after) for one in found.changed if one.what == "instrument"}
    wrong = 0
    every = spread(count, len(rows.keys))
    for row, first, then in zip(every, before, after, strict=True):
        expected = (first, then) if first != then else None
        wrong += told.get(rows.numbers[row]) != expected
    whole = took * len(rows.keys) / len(every)
    print(f"  {len(every):,} held against the rules one by one: {wrong} differ; those would take "
          f"{whole:,.0f} s for all")  # fmt: skip


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    for name, default in (("rows", ROWS), ("sets", SETS), ("equal", EQUAL)):
        parser.add_argument(f"--{name}", type=int, default=default)
    given = parser.parse_args()
    os.environ["DJANGO_SETTINGS_MODULE"] = "config.settings.test"
    with tempfile.TemporaryDirectory() as folder:
        os.environ["DATABASE_URL"] = f"sqlite:///{Path(folder) / 'what-if.sqlite3'}"
        import django

        django.setup()
        from django.core.management import call_command

        from config import demo
        from tests.bench.rules.decided_sets import add_sets

        call_command("migrate", verbosity=0)
        demo.load(lambda _: None, day=False)
        add_sets(given.sets)
        fill(given.rows, Random(17))
        for values in ASKED:
            ask(values, given.equal)


def ask(values: dict[str, str], equal: int) -> None:
    from assembly.consequences.supposing import Said, supposed_by
    from assembly.consequences.what_if import what_if
    from assembly.consequences.whole_catalog import rows_now

    began = time.process_time()
    rows_now()
    read = time.process_time() - began
    asked, began = supposed_by(Said(values=values)), time.process_time()
    found = what_if(asked)
    took = time.process_time() - began
    print(f"{values}: {found.instruments:,} instruments, {found.sets:,} sets: {took:.1f} s, of it "
          f"{read:.1f} s to read instruments; {len(found.changed):,} change, {len(found.over)} go "
          f"over; {found.by_rules:,} by the rules one by one", flush=True)  # fmt: skip
    held(found, asked, equal)


if __name__ == "__main__":
    sys.exit(main())
