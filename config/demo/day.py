"""A day in progress at Hollin Fell, for the demo: done by the real verbs, each at its own time.

The times are minutes before the demo is made. What a verb calls now is moved to that moment
while the demo is made (:func:`clock_at`), and in no other program.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace
from datetime import datetime, timedelta
from decimal import Decimal
from itertools import count
from typing import Any

from django.contrib.auth.models import Group, User
from django.utils import timezone

from assembly.bench import builds, signing
from assembly.bench.tally import tally_of
from assembly.complaints import saying
from assembly.equipment import recording as tests
from assembly.judging.decisions import Answer, SetAnswer, decide_for_instrument, decide_for_set
from assembly.judging.facts_from_catalog import lines_of
from assembly.judging.taking import Plan, chosen
from assembly.models import (
    Build,
    EquipmentTest,
    Load,
    Package,
    Repair,
    Request,
    ShelfPlace,
    Wrong,
)
from assembly.packages import levels, lots, recording, sealing, shelf
from assembly.persons import Person, person_of
from assembly.questions import asking as coordinators
from assembly.questions import proposing
from assembly.requests import asking, working
from assembly.requests.asking import Ask, Wanted
from assembly.rules.telling.release import IMPLANT, NO_GROWTH, release_checks
from assembly.sterilizing import gathering, releasing
from assembly.stock import counting
from assembly.upkeep import containers, loaners, repairs
from assembly.upkeep.loaners import Lent
from catalog import actions
from catalog.models import Container, Instrument, InstrumentSet, Programme, Sealer, Sterilizer
from catalog.vocabulary import Form, Method

COLLEAGUE = ("colleague", "Ola Brandt", "technician")
"""Somebody else at the bench, who does not sign in."""
OR = "Main OR"
CYCLE = "S134-4"
PLATE: dict[str, Any] = {
    "item_number": "CI-4410", "name": "Bone plate 3.5 mm, 6 holes", "group": "Implants",
    "maker": "Calder Implants", "length_mm": 78, "width_mm": 11, "height_mm": 3, "weight_g": 26,
    "form": Form.HANDLE, "tip": "none", "protector": "", "hinged": False, "ratchet": False,
    "hollow": False, "parts_apart": "", "implant": True, "ifu_reference": "CI-BP rev. 2",
}  # fmt: skip
DAY_MIN = 24 * 60
SEALERS = {"PS1": Decimal(181), "PS2": Decimal(126)}
"""What each sealer reads today, in °C."""


class Day:
    """The people of the demo and the moment it is made; each part of the day is a method."""

    def __init__(self) -> None:
        self.made_at = timezone.now()
        self.tam, self.lis, self.bea = (
            person_of(User.objects.get(username=name))
            for name in ("technician", "liaison", "coordinator")
        )
        self.ola = _colleague()
        self._keys = count(1)

    def key(self) -> str:
        """Another key each time."""
        return f"demo-day-{next(self._keys):04d}"

    def ago(self, minutes: float) -> datetime:
        """The moment so many minutes before the demo was made; below 0 it is still to come."""
        return self.made_at - timedelta(minutes=minutes)

    def make(self) -> None:
        """The whole day, in its order."""
        with clock_at(self.ago(240)):
            self.plan()
        self.equipment()
        self.repair()
        self.containers()
        self.lent()
        first = self.morning()
        self.stock(first)
        self.requests()
        self.afternoon()
        self.open_ends()

    def plan(self) -> None:
        """Levels of the shelf, which sets are needed when, and which boxes are open."""
        lots.open_lot(self.tam, f"{lots.INDICATOR}:{Method.STEAM}", "I-7781", self.key())
        lots.open_lot(self.tam, "pouch:PF-150x300", "26-0914", self.key())
        year = timezone.localdate() + timedelta(days=365)
        for supply, left, lot in (("pouch:PF-150x300", 240, "26-0914"), ("roll:RF-75", 90, "")):
            counting.count(self.bea, supply, "counted", left, self.key(), lot,
                           year if lot else None)  # fmt: skip
        for number, low in (("HF-1042", 3), ("HF-1126", 2)):
            levels.set_level(self.bea, _instrument(number), low)
        levels.set_level(self.bea, _set("HF-S02"), 2)
        for code, minutes, where in (("HF-S01", 150, "OR 3"), ("HF-S05", 300, "OR 1")):
            levels.say_when_needed(self.tam, _set(code), self.ago(-minutes), where)
        local = timezone.localtime(self.made_at) + timedelta(days=1)
        first_case = local.replace(hour=7, minute=30, second=0, microsecond=0)
        for thing in (_set("HF-S02"), _instrument("HF-1042"), _set("HF-S01")):
            levels.say_when_needed(self.lis, thing, first_case, "OR 2")

    def equipment(self) -> None:
        """Tests of the week and of the day; the leak test of ST2 is due, one indicator is read."""
        with clock_at(self.ago(8 * DAY_MIN)):
            self.test("ST2", "leak")
        with clock_at(self.ago(3 * DAY_MIN)):
            self.test("ST1", "leak")
            for code in ("ST1", "ST2", "EO1", "VP1"):
                waits = self.test(code, "biological", passed=None, lot="BI-2611", incubator="1")
                if code != "ST2":
                    with clock_at(self.ago(2 * DAY_MIN)):
                        tests.read(self.tam, waits.pk, self.key(), passed=True)
        midnight = timezone.localtime(self.made_at).replace(hour=0, minute=0, second=0)
        for began in sorted({self.ago(239), max(midnight, self.ago(239))}):
            with clock_at(began):
                for code in ("ST1", "ST2"):
                    self.test(code, "air removal", lot="BD-0417")
                for code, read_c in SEALERS.items():
                    self.test(code, "seal", read_c=read_c)

    def test(self, code: str, kind: str, passed: bool | None = True, **more: Any) -> EquipmentTest:
        """A test of a sterilizer or a sealer, by its code."""
        rows: Any = Sealer if code in SEALERS else Sterilizer
        thing = rows.objects.get(code=code)
        return tests.put_on_record(self.tam, thing, kind, self.key(), passed=passed, **more)

    def morning(self) -> list[Package]:
        """A set and singles packed, sterilized together and released."""
        with clock_at(self.ago(235)):
            build = builds.start(self.ola, _set("HF-S02"), self.key())
            scissors = _line(build, "HF-1049")
            builds.damaged(self.ola, build.pk, scissors, "Blunt, or does not cut", self.key())
            self.count(self.ola, build)
        with clock_at(self.ago(210)):
            packages = [self.sign(self.ola, build)]
            packages += [self.pack(self.tam, one) for one in ("HF-1042", "HF-1049", "HF-1189")]
        with clock_at(self.ago(200)):
            load = self.load("ST1", packages)
        with clock_at(self.ago(140)):
            yes = {check.key: "yes" for check in release_checks(Method.STEAM)} | {IMPLANT: "no"}
            releasing.release(self.tam, load.pk, yes, NO_GROWTH, self.key())
        return packages

    def repair(self) -> None:
        """Three pieces are away: with the maker, overdue with the repair shop, laid aside."""
        with clock_at(self.ago(9 * DAY_MIN)):
            shop = self.damaged("HF-1112", "Ratchet does not hold", "HF-S01")
            soon = timezone.localdate() + timedelta(days=7)
            repairs.send_out(self.bea, shop.pk, "Fellside Instrument Repair", soon)
        with clock_at(self.ago(4 * DAY_MIN)):
            maker = self.damaged("HF-1126", "Insulation damaged")
            repairs.send_out(self.bea, maker.pk, "the maker", self.made_at.date())
        with clock_at(self.ago(26)):
            self.damaged("HF-1133", "Rust, pitting or stain")

    def containers(self) -> None:
        """Two full-size containers have a number; the gasket of one is worn."""
        with clock_at(self.ago(6 * 60)):
            kind, today = Container.objects.get(code="RC-FULL"), timezone.localdate()
            for number in ("C-017", "C-018"):
                one = containers.add_container(self.bea, kind, number, self.key())
                until = today + timedelta(days=200)
                containers.change_filter(self.tam, one.pk, self.key(), "reusable", today, until)
            containers.look_at_gasket(self.tam, one.pk, self.key(), "worn")

    def lent(self) -> None:
        """Two trays are here for tomorrow: one with its IFU, one without; and implants."""
        tomorrow = timezone.localdate() + timedelta(days=1)
        with clock_at(self.ago(5 * 60)):
            knee = Lent("Knee tray 1 of 2", "Calder Implants", needed_for="knee, OR 4", pieces=43,
                        weight_g=Decimal(8200), ifu_reference="CI-KT rev. 4",
                        return_by=tomorrow)  # fmt: skip
            loaners.take_in(self.bea, knee, self.key())
            loaners.take_in(self.bea, replace(knee, what="Knee tray 2 of 2", pieces=None,
                                              weight_g=None, ifu_reference=""),
                            self.key())  # fmt: skip
            plate = actions.add_instrument(self.bea.actor("came with the knee trays"), PLATE, [
                {"method": Method.STEAM, "temperature_c": 134, "exposure_min": 3},
            ])  # fmt: skip
            spare = replace(knee, what="Bone plates, spare", instrument=plate, pieces=2,
                            weight_g=Decimal(52))  # fmt: skip
            loaners.take_in(self.bea, spare, self.key())

    def damaged(self, number: str, reason: str, code: str = "") -> Repair:
        """A piece is laid aside, of a set where one is named."""
        whose = _set(code) if code else None
        return repairs.to_repair(self.tam, _instrument(number), reason, self.key(),
                                 instrument_set=whose)  # fmt: skip

    def stock(self, packages: list[Package]) -> None:
        """What was released is put away."""
        with clock_at(self.ago(134)):
            for one in packages:
                place = "B1" if one.kind == Package.Kind.SET else "A1"
                at = ShelfPlace.objects.get(code=place)
                shelf.put_away(self.tam, one, at, self.key())

    def requests(self) -> None:
        """One served whose label was smudged, one late, one packed, one urgent, one for what no
        catalog names."""
        with clock_at(self.ago(130)):
            missing = Wanted(instrument=_instrument("HF-1049"), missing_from=_set("HF-S02"))
            served = self.ask(missing, 105, "OR 2", Request.Urgency.WAITING)
        with clock_at(self.ago(118)):
            self.serve(served)
        with clock_at(self.ago(100)):
            went = Package.objects.get(ties__request=served)
            saying.say(self.lis, went.pk, Wrong.LABEL, self.key(), "smudged, cannot be read")
        with clock_at(self.ago(95)):
            out = Repair.objects.get(item_number="HF-1049")
            repairs.come_back(self.ola, out.pk, Repair.Outcome.BACK, "sharpened")
        with clock_at(self.ago(75)):
            self.ask(Wanted(instrument=_instrument("HF-1091")), 10, "OR 2")
            packed = self.ask(Wanted(instrument=_instrument("HF-1133")), -125, "OR 5")
        with clock_at(self.ago(60)):
            working.take_and_pack(self.tam, packed.pk, self.key())
            working.tie(self.tam, packed.pk, self.pack(self.tam, "HF-1133"))
        with clock_at(self.ago(15)):
            rongeur = Wanted(instrument=_instrument("HF-1343"))
            self.ask(rongeur, -110, "OR 1", Request.Urgency.URGENT)
            self.ask(Wanted(words="small nerve hook, angled"), -180, "OR 4")

    def afternoon(self) -> None:
        """Packages that wait for a load, a load in the sterilizer, and two sets on the bench."""
        with clock_at(self.ago(50)):
            for number in ("HF-1161", "HF-1273", PLATE["item_number"]):
                self.pack(self.tam, number)
        with clock_at(self.ago(40)):
            laparotomy = builds.start(self.tam, _set("HF-S01"), self.key())
            self.count(self.tam, laparotomy, but=12)
        with clock_at(self.ago(30)):
            inside = [self.pack(self.ola, number) for number in ("HF-1315", "HF-1259")]
        with clock_at(self.ago(25)):
            basins = builds.start(self.ola, _set("HF-S05"), self.key())
            self.count(self.ola, basins, but=1)
        with clock_at(self.ago(12)):
            self.load("ST2", inside)

    def open_ends(self) -> None:
        """A value proposed, a question that waits, and one that was answered."""
        with clock_at(self.ago(22)):
            mine = coordinators.ask(self.tam, _set("HF-S04"), self.key(),
                                    words="Do I pack the laparoscope by itself?")  # fmt: skip
        with clock_at(self.ago(20)):
            values = {"width_mm": Decimal(12), "weight_g": Decimal(38)}
            sound = _instrument("HF-2001")
            proposing.propose(self.tam, sound.pk, values, self.key(), how="caliper, bench scale")
        with clock_at(self.ago(18)):
            heavy = _set("HF-S03")
            finding = decide_for_set(heavy, _lines(heavy)).headline
            coordinators.ask(self.ola, heavy, self.key(), finding,
                             "May the mallets go beside it?")  # fmt: skip
        with clock_at(self.ago(8)):
            coordinators.answer(self.bea, mine.pk, self.key(),
                                "Yes: by itself, in VP-STD. The rest goes in S134-4.")  # fmt: skip

    # --- what several parts of the day do ---

    def ask(
        self, wanted: Wanted, due: float, where: str, urgency: str = Request.Urgency.ROUTINE
    ) -> Request:
        """A request of Lis Mellor's, due so many minutes before the demo was made."""
        asked = Ask(department=OR, where=where, needed_by=self.ago(due), urgency=urgency)
        return asking.ask(self.lis, wanted, asked, self.key())

    def serve(self, request: Request) -> None:
        """It goes out of the shelf into the hands of who asked."""
        lying = Package.objects.get(number=request.number, kind=Package.Kind.SINGLE)
        working.take(self.tam, request.pk, self.key())
        working.send(self.tam, request.pk, self.key(), lying)
        working.hand_over(self.tam, request.pk, self.key())

    def count(self, person: Person, build: Build, but: int = 0) -> None:
        """What is missing is counted, all lines or all ``but`` the last so many."""
        lines = [one for one in tally_of(build).lines if one.missing]
        for one in lines[: len(lines) - but]:
            builds.count(person, build.pk, one.line.pk, one.missing, self.key())

    def sign(self, person: Person, build: Build) -> Package:
        """A set that is counted is packed and signed."""
        answer = signing.answer_for(tally_of(build))
        assert answer is not None
        signing.pack(person, build.pk, _plan(answer), self.key())
        return _sealed(person, signing.sign(person, build.pk, self.key()))

    def pack(self, person: Person, number: str) -> Package:
        """A single package of an instrument."""
        instrument = _instrument(number)
        answer = decide_for_instrument(instrument)
        made = recording.pack_single(person, instrument, answer, _plan(answer), self.key())
        return _sealed(person, made)

    def load(self, sterilizer: str, packages: list[Package]) -> Load:
        """A load with these packages, started."""
        machine = Sterilizer.objects.get(code=sterilizer)
        cycle = Programme._default_manager.get(code=CYCLE)
        number, _ = gathering.next_numbers(machine)
        load = gathering.begin_load(self.tam, machine, cycle, number, self.key())
        for one in packages:
            gathering.add(self.tam, load.pk, one, self.key())
        return gathering.start(self.tam, load.pk, self.key())


@contextmanager
def clock_at(moment: datetime) -> Iterator[None]:
    """What is done meanwhile is done at this moment, and the seconds run on from there."""
    real, began = timezone.now, timezone.now()
    timezone.now = lambda: moment + (real() - began)
    try:
        yield
    finally:
        timezone.now = real


def _colleague() -> Person:
    account, name, role = COLLEAGUE
    first, last = name.split()
    user = User.objects.create_user(account, first_name=first, last_name=last)
    user.groups.add(Group.objects.get(name=role))
    return person_of(user)


def _instrument(number: str) -> Instrument:
    return Instrument.objects.prefetch_related("cycles").get(item_number=number)


def _set(code: str) -> InstrumentSet:
    return InstrumentSet.objects.get(code=code)


def _lines(instrument_set: InstrumentSet) -> list[Any]:
    sheet = instrument_set.current
    return lines_of(sheet) if sheet else []


def _line(build: Build, number: str) -> int:
    lines = tally_of(build).lines
    return next(one.line.pk for one in lines if one.line.item_number == number)


def _sealed(person: Person, package: Package) -> Package:
    """The package closed, and its seal looked at."""
    sealer = Sealer.objects.get(code="PS1")
    return sealing.seal(person, package.pk, sealing.all_right(package), sealer)


def _plan(answer: Answer | SetAnswer) -> Plan:
    """What is recommended, every check answered yes."""
    option = chosen(answer)
    assert option is not None
    checks = answer.guidance_in(option.candidate).checks
    answers: Mapping[str, str] = {check.key: "yes" for check in checks}
    return Plan(option.key, answers)
