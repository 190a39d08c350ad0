"""Print runs against the same pages drawn with the bare PDF library.

``python -m tests.bench.desk.printing [sets] [labels]``; 500 sets of 40 lines and 5,000 labels
when nothing is said. Every call that our drawing makes of the library is written down in a
first run and then made again on a bare canvas, with no measuring, wrapping or checking:
that is the time to beat. What is to be printed is made beforehand. Both are timed (processor
time) in the same process, in turns, and the least of five counts: other work on the machine
only adds to it. The goal is 1.3 times. The memory is the most that a process of its own held
at once while it wrote the run to a file: for a tenth of the run, the whole, and ten times as
much.
"""

from __future__ import annotations

import gc
import io
import re
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

from reportlab import rl_config
from reportlab.pdfgen.canvas import Canvas

from reports.documents.count_sheets import CountSheetDocument, CountSheetSection
from reports.documents.labels import LabelDocument
from reports.drawing import barcodes
from reports.drawing.labels import labels
from reports.drawing.sheets import count_sheets
from reports.drawing.stocks import stock
from tests.reports.examples import LABEL, draw_count_sheets, line, sheet

TURNS = 5
INSTRUMENTS = 2_000
GOAL = 1.3
LABELS, SHEETS = "labels", "sets of 40 lines"
STOCK = "label-100x50"


class Listening:
    """A canvas that writes down every call, with its paths, and passes it on."""

    def __init__(self, canvas: Any, calls: list[tuple[int, str, tuple, dict]], place: int) -> None:
        self._canvas, self._calls, self._place = canvas, calls, place

    def __getattr__(self, name: str) -> Any:
        given = getattr(self._canvas, name)
        if not callable(given) or name.startswith("_"):
            return given

        def call(*args: Any, **options: Any) -> Any:
            plain = tuple(a._place if isinstance(a, Listening) else a for a in args)
            refers = tuple(isinstance(a, Listening) for a in args)
            self._calls.append((self._place, name, (plain, refers), options))
            real = tuple(a._canvas if isinstance(a, Listening) else a for a in args)
            made = given(*real, **options)
            if name == "beginPath":
                return Listening(made, self._calls, len(self._calls))
            return made

        return call


def listen(modules: list[Any], draw: Callable[[], bytes]) -> list[tuple]:
    """The library calls that ``draw`` makes."""
    calls: list[tuple] = []
    real = modules[0].new_canvas
    size: list[tuple[float, float]] = []

    def listening(out: io.BytesIO, page: tuple[float, float], title: str) -> Any:
        size.append(page)
        return Listening(real(out, page, title), calls, 0)

    for module in modules:
        module.new_canvas = listening
    try:
        draw()
    finally:
        for module in modules:
            module.new_canvas = real
    return [size[0], *calls]


def again(calls: list[tuple], symbols: list[str]) -> None:
    """The same calls on a bare canvas; barcodes encoded anew, as any program has to."""
    for text in symbols:
        barcodes.data_matrix(text)
    rl_config.useA85 = 0  # plain compressed pages, as ours are
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=calls[0], invariant=1, pageCompression=1)
    things: dict[int, Any] = {0: canvas}
    for number, (place, name, (args, refers), options) in enumerate(calls[1:], start=1):
        real = [things[a] if r else a for a, r in zip(args, refers, strict=True)]
        made = getattr(things[place], name)(*real, **options)
        if name == "beginPath":
            things[number] = made
        elif name == "drawPath":
            things = {0: canvas}


def timed(work: Callable[[], object]) -> float:
    """Processor time in seconds. The millions of calls written down are kept out of the
    garbage collector's rounds: no program that prints has them."""
    gc.collect()
    gc.freeze()
    start = time.process_time()
    work()
    return time.process_time() - start


def most_memory(name: str, count: int) -> str:
    """The most memory that a process of its own holds while it writes the run, in words."""
    command = [sys.executable, "-m", "tests.bench.desk.printing", "--memory", name, str(count)]
    return subprocess.run(command, check=True, capture_output=True, text=True).stdout.strip()


def most_held_mb() -> float:
    """The most memory this process ever held, in MB (Linux)."""
    found = re.search(r"VmHWM:\s+(\d+) kB", Path("/proc/self/status").read_text())
    return int(found[1]) * 1024 / 1e6 if found else float("nan")


def say_memory(name: str, count: int) -> None:
    """Write a run to a file and print how much memory that took. For a new process."""
    before = most_held_mb()
    with tempfile.TemporaryFile() as out:
        if name == LABELS:
            labels.write_labels(out, packages(count), stock(STOCK))
        else:
            count_sheets.write_count_sheets(out, sets(count))
        size = out.tell() / 1e6
    print(
        f"{count:,}: {most_held_mb():.0f} MB (the program alone {before:.0f}), file {size:.1f} MB"
    )


def sets(count: int) -> Iterator[CountSheetDocument]:
    """Sets of 40 lines out of a catalog of 2,000 instruments, one at a time."""
    for number in range(count):
        lines = tuple(
            replace(
                line(place + 1),
                name=f"Instrument no. {(number * 37 + place * 11) % INSTRUMENTS}, curved, 18 cm",
                item_number=f"HF-{(number * 37 + place * 11) % INSTRUMENTS:04}",
                details=(f"Also: nickname {(number * 37 + place * 11) % INSTRUMENTS}",),
            )
            for place in range(40)
        )
        sections = (CountSheetSection("Upper tray", lines[:20]), CountSheetSection("", lines[20:]))
        yield sheet(set_code=f"HF-S{number:03}", set_name=f"Set number {number}", sections=sections)


def packages(count: int) -> Iterator[LabelDocument]:
    """Labels of packages, each with a code of its own."""
    for number in range(count):
        what = f"Instrument no. {number % INSTRUMENTS}, curved, 18 cm"
        yield replace(LABEL, what=what, barcode_text=f"HFP{number:07}",
                      item_number=f"HF-{number % INSTRUMENTS:04}")  # fmt: skip


def compare(
    name: str, module: Any, draw: Callable[[], bytes], symbols: list[str], count: int
) -> bool:
    """Time both, print what came of it; whether the goal is met."""
    calls = listen([module], draw)
    ours, bare = [], []
    for _ in range(TURNS):
        ours.append(timed(draw))
        bare.append(timed(lambda: again(calls, symbols)))
    calls.clear()
    share = min(ours) / min(bare)
    print(
        f"{name}: {count:,} in {min(ours):.2f} s, bare library {min(bare):.2f} s, "
        f"{share:.2f} times (goal {GOAL}). Most memory for",
        "; for ".join(most_memory(name, many) for many in (count // 10, count, count * 10)),
        flush=True,
    )
    return share <= GOAL


def compare_labels(count: int) -> bool:
    documents, on = list(packages(count)), stock(STOCK)
    codes = [document.barcode_text for document in documents]
    return compare(LABELS, labels, lambda: labels.draw_labels(documents, on), codes, count)


def compare_sheets(count: int) -> bool:
    documents = list(sets(count))
    codes = [document.set_code for document in documents]
    draw = partial(draw_count_sheets, documents)
    return compare(SHEETS, count_sheets, draw, codes, count)


def main() -> None:
    if "--memory" in sys.argv:
        say_memory(sys.argv[2], int(sys.argv[3]))
        return
    given = [int(word) for word in sys.argv[1:]]
    sheets, many = (given + [500, 5000][len(given) :])[:2]
    good = [compare_labels(many), compare_sheets(sheets)]
    sys.exit(0 if all(good) else 1)


if __name__ == "__main__":
    main()
