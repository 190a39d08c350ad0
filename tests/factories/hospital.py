"""A few of everything, so that every address of the program has something to show."""

from __future__ import annotations

import json
from dataclasses import asdict
from decimal import Decimal
from pathlib import Path

from django.conf import settings
from django.contrib.auth.models import User
from django.utils import timezone

from assembly.bench import signing
from assembly.complaints import saying
from assembly.models import (
    Complaint,
    Loaner,
    OwnContainer,
    Package,
    Proposal,
    Question,
    Recall,
    Repair,
    SetBaseline,
)
from assembly.packages import lots, shelf
from assembly.packages.recording import package_code
from assembly.questions import asking as asking_coordinators
from assembly.questions.proposing import propose
from assembly.requests import asking
from assembly.requests.asking import Wanted
from assembly.sterilizing import recalling
from assembly.stock import counting, emptying
from assembly.upkeep import containers, loaners, repairs
from assembly.upkeep.loaners import Lent
from catalog import actions, photos
from catalog.models import Container, Instrument, InstrumentSet, Pouch
from catalog.runs import Run
from catalog.spreadsheets.batches.verbs import check, look
from reports.gathering.stocks import add_stock
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories.loads import a_load, a_sealer, a_sterilizer, released, tested
from tests.factories.pictures import picture
from tests.factories.requests import a_package, a_place, a_request, ask_for, liaison

RUN = "0b0e7a52-5d0c-4c7e-9d0a-0123456789ab"


def a_hospital(count: int = 3) -> dict[str, str]:
    """So many of everything, joined with each other; what each part of an address stands for.

    A longer part comes before a shorter one that it holds.
    """
    instrument = make.Instrument(item_number="T-1", photo=photos.keep(photos.made_anew(picture())))
    make.Pouch(code="TP-1")
    sheet = make.CountSheet(instrument_set__code="TS-1")
    draft = make.CountSheet(instrument_set=sheet.instrument_set, revision=2, state="draft")
    for order in range(1, count + 1):
        other = make.Instrument(item_number=f"T-{order + 1}", weight_g=None)
        for one in (sheet, draft):
            line = make.Line(count_sheet=one, instrument=other, order=order)
            line.substitutes.add(instrument)
        make.Line(instrument=instrument)
        make.Pouch().doubles_in.add(make.Pouch())
        actions.change_instrument(actions.Actor(f"person {order}"), other, {"notes": "x"})
        short = Wanted(instrument=instrument, missing_from=sheet.instrument_set)
        asking.ask(liaison(), short, ask_for(), at.key())
    build = at.a_build(sheet.instrument_set)
    at.complete(build)
    _weighed(sheet.instrument_set, count)
    package = at.signed(at.a_build(at.a_set("TS-2")))
    load, wet = _packages(make.Instrument(), count)
    recalled = _recalled(instrument)
    lot = lots.open_lot(at.person(), "indicator:steam", "L-1", at.key())
    _stock(count)
    _papers(count)
    applied = _spreadsheet("applied", count)
    return {
        "equipment/tests/<int:pk>": f"equipment/tests/{_equipment(count)}",
        "equipment/<str:what>/<str:code>": "equipment/sterilizer/ST1",
        "containers/<int:pk>": f"containers/{_containers(count).pk}",
        "<str:number>": "C-1",
        "loaners/<int:pk>": f"loaners/{_lent(count).pk}",
        "away/<int:pk>": f"away/{_away(instrument, sheet.instrument_set, count).pk}",
        "builds/<int:pk>": f"builds/{build.pk}",
        "loads/<int:pk>": f"loads/{load}",
        "wrong/notices/<int:pk>": f"wrong/notices/{wet.notices.get().pk}",
        "wrong/<int:pk>": f"wrong/{wet.pk}",
        "recalls/notices/<int:pk>": f"recalls/notices/{recalled.notices.get().pk}",
        "recalls/<int:pk>": f"recalls/{recalled.pk}",
        "lots/<int:pk>": f"lots/{lot.pk}",
        "accounts/<int:pk>": f"accounts/{User.objects.create_user('leaver').pk}",
        "requests/<int:pk>": f"requests/{a_request(instrument).pk}",
        "packages/<str:code>": f"packages/{package.code}",
        "proposals/<int:pk>": f"proposals/{_proposed(instrument, count).pk}",
        "questions/<int:pk>": f"questions/{_asked(instrument, count).pk}",
        "spreadsheets/<int:pk>/take-back": f"spreadsheets/{applied}/take-back",
        "spreadsheets/<int:pk>/letters": f"spreadsheets/{_letters()}/letters",
        "<int:pk>": str(_spreadsheet("checked", count)),
        "<str:item_number>": "T-1",
        "blank/<str:kind>": "blank/instruments",
        "<str:kind>/<str:code>": "pouch/TP-1",
        "<str:code>": "TS-1",
        "requests/<str:kind>": "requests/shortage",
        "<str:kind>": "pouch",
        "<int:revision>": "2",
        "<slug:role>": "technician",
        "wall/<slug:key>": "wall/rack",
        "skills/<slug:key>": "skills/wrap",
        "stocks/<slug:key>": "stocks/a4-3x8",
        "lists/<slug:key>": "lists/heavy-sets",
        "<str:form>": "csv",
        "<uuid:run>": RUN,
    }


def _weighed(of: InstrumentSet, count: int) -> None:
    """So many sets alike, each with a baseline and a reading."""
    build = at.a_build(of)
    for number in range(1, count + 1):
        at.weighed(build, "2000", number)
        SetBaseline.objects.create(
            key=at.key(), instrument_set=of, number=number, grams=2000, step_g=1, repeat_g=0.5,
            revision=1, at=timezone.now(), reading=at.weighed(build, "2000", number),
            **at.person().by,
        )  # fmt: skip
    signing.give_up(at.person(), build.pk, "a trial", at.key())


def _away(instrument: Instrument, of: InstrumentSet, count: int) -> Repair:
    """So many pieces of a set at repair, the last with the maker."""
    for _ in range(count):
        made = repairs.to_repair(at.person(), instrument, "Bent", at.key(), instrument_set=of)
    return repairs.send_out(at.person(), made.pk, "the maker")


def _containers(count: int) -> OwnContainer:
    """So many containers with a number, each with a fault."""
    kind = Container.objects.first() or make.Container()
    for number in range(1, count + 1):
        made = containers.add_container(at.person(), kind, f"C-{number}", at.key())
        containers.say_fault(at.person(), made.pk, at.key(), "latch bent")
    return made


def _lent(count: int) -> Loaner:
    """So many trays on loan, none of the catalog."""
    for number in range(count):
        made = loaners.take_in(at.person(), Lent(f"tray {number}", "the maker"), at.key())
    return made


def _proposed(instrument: Instrument, count: int) -> Proposal:
    """So many values proposed, each for another instrument; the one for this."""
    for other in Instrument.objects.filter(weight_g=None)[:count]:
        propose(at.person(), other.pk, {"weight_g": Decimal(20)}, at.key())
    return propose(at.person(), instrument.pk, {"ratchet": False}, at.key())


def _asked(instrument: Instrument, count: int) -> Question:
    """So many questions, the last about this."""
    for number in range(count):
        asking_coordinators.ask(at.person(), instrument, at.key(), words=f"question {number}")
    return asking_coordinators.ask(at.person(), instrument, at.key())


def _packages(instrument: Instrument, count: int) -> tuple[int, Complaint]:
    """As many packages packed, in a load, on the shelf, and handed over; the number of the load.
    Something was wrong with each that was handed over; one was wet."""
    package = a_package(instrument)
    copies = [_copy(package, number) for number in range(4 * count)]
    released(*copies[:count], *copies[3 * count :])
    for number, one in enumerate(copies[3 * count :]):
        shelf.put_away(at.person(), one, a_place(f"A{number}"), at.key())
    for one in copies[:count]:
        shelf.hand_over(at.person(), one, "OR 3", at.key())
        saying.say(liaison(), one.pk, "label", at.key())
    wet = saying.say(liaison(), copies[0].pk, "wet", at.key())
    return a_load(*copies[count : 2 * count]).pk, wet


def _recalled(instrument: Instrument) -> Recall:
    """A recall of a package that was handed over."""
    package = a_package(instrument)
    load = released(package)
    shelf.hand_over(at.person(), package, "OR 3", at.key())
    return recalling.recall(at.person(), "load", load.lot, at.key(), "it grew")


def _equipment(count: int) -> int:
    """So many sealers and indicators in a sterilizer; the number of a test."""
    for number in range(count):
        tested(a_sterilizer(), "biological", passed=None, lot=f"B{number}")
        failed = tested(a_sealer(f"TPS{number + 1}"), "seal", passed=False)
    return failed.pk


def _copy(package: Package, number: int) -> Package:
    """A package like this one, with a code of its own."""
    values = {field.attname: getattr(package, field.attname) for field in Package._meta.fields}
    del values["id"]
    values |= {"key": f"copy-key-{number}", "code": package_code(90_000 + number)}
    return Package.objects.create(**values)


def _spreadsheet(state: str, count: int) -> int:
    """A list with so many rows that wait for a person, and as many that do not."""
    sizes = ("140", "14-16 cm")
    rows = [f"HF-{n},Probe no. {n},{sizes[n % 2]}".encode() for n in range(2 * count)]
    batch = make.SpreadsheetBatch(content=b"\n".join([b"Item #,Name,Length (mm)", *rows]))
    look(batch)
    check(batch)
    batch.state = state
    batch.save()
    return int(batch.pk)


def _letters() -> int:
    """A text table that may be written in more than one alphabet."""
    batch = make.SpreadsheetBatch(content="Item #;Name\nT-1;tępe\n".encode("cp1250"))
    look(batch)
    return int(batch.pk)


def _stock(count: int) -> None:
    """So many pouches counted, and the box of an indicator that is empty."""
    for pouch in Pouch.objects.all()[:count]:
        counting.count(at.person(), f"pouch:{pouch.code}", "counted", 200, at.key(), lot="L-2")
    emptying.say_empty(at.person(), "indicator:eo", at.key())


def _papers(count: int) -> None:
    """A print run that is done, and so many label stocks of the department's own."""
    folder = Path(settings.PRINT_FOLDER) / RUN
    folder.mkdir(parents=True)
    told = Run("A run", 1, "catalog.print_count_sheet", "run.pdf", "application/pdf", state="done")
    (folder / "state.json").write_text(json.dumps(asdict(told)))
    (folder / "file").write_bytes(b"%PDF")
    for number in range(count):
        add_stock(at.person(), {"name": f"Roll {number}", "width_mm": 60, "height_mm": 30,
                                "margin_mm": 2, "printer_dpi": 203, "paper": ""})  # fmt: skip
