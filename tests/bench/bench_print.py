"""Print runs against the same pages drawn with the bare PDF library.

``python -m tests.bench.bench_print [sets] [labels]``; 500 sets of 40 lines and 5,000 labels
when nothing is said. Every call that our drawing makes of the library is written down in a
first run and then made again on a bare canvas, with no measuring, wrapping or checking:
that is the time to beat. Both are timed (processor time) in the same process, in turns;
the goal is 1.3 times. The memory is the most that Python held at once, traced in a run of
its own, and the same for a run a tenth as long: what grows is the file itself.
"""

from __future__ import annotations

import gc
import io
import statistics
import sys
import time
import tracemalloc
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any

from reportlab import rl_config
from reportlab.pdfgen.canvas import Canvas

from reports.documents import CountSheetDocument, CountSheetSection, LabelDocument
from reports.drawing import barcodes, count_sheets, labels
from reports.drawing.stocks import stock
from tests.reports.examples import LABEL, line, sheet

TURNS = 3
INSTRUMENTS = 2_000
GOAL = 1.3


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
    gc.collect()
    start = time.process_time()
    work()
    return time.process_time() - start


def most_memory(work: Callable[[], object]) -> float:
    """The most that Python held at once during ``work``, in MB."""
    gc.collect()
    tracemalloc.start()
    work()
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return most / 1e6


def sets(count: int) -> Iterator[CountSheetDocument]:
    """Sets of 40 lines out of a catalog of 2,000 instruments, one at a time."""
    for number in range(count):
        lines = tuple(
            replace(
                line(place + 1),
                name=f"Instrument no. {(number * 37 + place * 11) % INSTRUMENTS}, curved, 18 cm",
                item_number=f"HF-{(number * 37 + place * 11) % INSTRUMENTS:04}",
                also_known_as=f"nickname {(number * 37 + place * 11) % INSTRUMENTS}",
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


def compare(name: str, modules: list[Any], draw: Callable[[int], bytes], count: int,
            symbols: list[str]) -> bool:  # fmt: skip
    calls = listen(modules, lambda: draw(count))
    ours, bare = [], []
    for _ in range(TURNS):
        ours.append(timed(lambda: draw(count)))
        bare.append(timed(lambda: again(calls, symbols)))
    calls.clear()
    share = statistics.median(ours) / statistics.median(bare)
    size = len(draw(count)) / 1e6
    whole, tenth = most_memory(lambda: draw(count)), most_memory(lambda: draw(count // 10))
    print(
        f"{name}: {count} in {statistics.median(ours):.2f} s, bare library "
        f"{statistics.median(bare):.2f} s, {share:.2f} times (goal {GOAL}); "
        f"file {size:.1f} MB; most memory {whole:.1f} MB, for {count // 10}: {tenth:.1f} MB"
    )
    return share <= GOAL  # fmt: skip


def main() -> None:
    given = [int(word) for word in sys.argv[1:]]
    sheets, many = (given + [500, 5000][len(given) :])[:2]
    on = stock("label-100x50")
    good = [
        compare("labels", [labels], lambda n: labels.draw_labels(packages(n), on), many,
                [document.barcode_text for document in packages(many)]),
        compare("sets of 40 lines", [count_sheets],
                lambda n: count_sheets.draw_count_sheets(sets(n)), sheets,
                [document.set_code for document in sets(sheets)]),
    ]  # fmt: skip
    sys.exit(0 if all(good) else 1)


if __name__ == "__main__":
    main()
