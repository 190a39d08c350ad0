"""Sets, people and plans for the bench, valid by default."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from itertools import count
from typing import Any

from django.contrib.auth.models import User

from assembly.bench import builds, signing
from assembly.bench.tally import Tally, tally_of
from assembly.bench.weighing.baselines import take_baseline
from assembly.bench.weighing.checks import weigh_open
from assembly.judging.decisions import Answer, SetAnswer, decide_for_instrument
from assembly.judging.taking import Override, Plan, chosen, open_findings
from assembly.models import Build, BuildEvent, Package, SetBaseline
from assembly.packages.sealing import all_right, seal
from assembly.persons import Person, name_of
from catalog.models import CountSheet, Instrument, InstrumentSet, Sealer
from config.roles import ROLES
from tests.factories import catalog as make

_keys = count(1)


def key() -> str:
    """Another key each time."""
    return f"test-key-{next(_keys):06d}"


def person(name: str = "Tam Birkett", role: str = "coordinator") -> Person:
    """Somebody by this name who may do what the role may."""
    user, _ = User.objects.get_or_create(
        username=name.casefold().replace(" ", "."),
        defaults={"first_name": name.split()[0], "last_name": name.split()[-1]},
    )
    return Person(user.pk, name_of(user), frozenset(ROLES[role]))


def a_set(code: str = "TS-1", wanted: tuple[int, ...] = (1, 2), **line: object) -> InstrumentSet:
    """A set that the rules pass: one cycle serves it and its container is validated for it."""
    programme = make.models.Programme.objects.filter(code="S134").first()
    if programme is None:
        programme = make.models.Programme.objects.create(
            code="S134",
            method="steam",
            temperature_c=134,
            exposure_min=4,
            drying_min=20,
            air_removal="dynamic",
        )
    sheet: CountSheet = make.CountSheet(instrument_set__code=code)
    container = sheet.instrument_set.container
    assert container is not None
    container.filter = "round paper filter"
    container.save()
    container.programmes.add(programme)
    for number, pieces in enumerate(wanted, start=1):
        make.Line(
            count_sheet=sheet,
            order=number,
            quantity=pieces,
            instrument=make.Instrument(item_number=f"{code}-{number}"),
            **line,
        )
    return sheet.instrument_set


def a_build(instrument_set: InstrumentSet | None = None, by: Person | None = None) -> Build:
    return builds.start(by or person(), instrument_set or a_set(), key())


def complete(build: Build, by: Person | None = None) -> Tally:
    """Every line counted."""
    for one in tally_of(build).lines:
        if one.missing:
            builds.count(by or person(), build.pk, one.line.pk, one.missing, key())
    return tally_of(build)


def overridden(answer: Answer | SetAnswer, plan: Plan, reason: str, *but: str) -> Plan:
    """The plan with each open finding accepted for one reason by Bea Hartsop, ``but`` those of
    these rules."""
    option = chosen(answer, plan.option)
    assert option is not None
    reasons = {one.key: reason for one in open_findings(option) if one.finding.rule not in but}
    return replace(plan, override=Override(person("Bea Hartsop"), reasons))


def all_yes(build: Build, programme: str = "") -> Plan:
    """Every check of a build's decision answered yes, with what is recommended or shown."""
    answer = signing.answer_for(tally_of(build), programme=programme)
    assert answer is not None
    option = chosen(answer)
    assert option is not None
    checks = answer.guidance_in(option.candidate).checks
    return Plan(option.key, {check.key: "yes" for check in checks}, programme=programme)


def accepting(build: Build, reason: str, *but: str, programme: str = "S134") -> Plan:
    """The same, in a programme chosen, each open finding accepted but for those of these rules."""
    answer = signing.answer_for(tally_of(build), programme=programme)
    assert answer is not None
    return overridden(answer, all_yes(build, programme), reason, *but)


def signed(build: Build | None = None) -> Package:
    """Signed and sealed."""
    build = build or a_build()
    complete(build)
    signing.pack(person(), build.pk, all_yes(build), key())
    return sealed(signing.sign(person(), build.pk, key()))


def weighed(build: Build, grams: str = "2000", number: int = 1) -> BuildEvent:
    """Open on the scale, before the lid, as it stands now."""
    return weigh_open(person(), build.pk, Decimal(grams), number, key())


def a_baseline(of: InstrumentSet, grams: str = "2000", number: int = 1) -> SetBaseline:
    """What a set weighs: counted complete, weighed, signed."""
    build = a_build(of)
    complete(build)
    reading = weighed(build, grams, number)
    signed(build)
    return take_baseline(person(), of.pk, reading.pk, key())


def sealed(package: Package) -> Package:
    """The package as it leaves the bench: closed, its seal looked at."""
    sealer = Sealer.objects.filter(active=True).first()
    return seal(person(), package.pk, all_right(package), sealer)


def sent(plan: Plan) -> dict[str, Any]:
    """The plan as its page sends it, each check answered by itself."""
    answers = {f"check:{key}": word for key, word in plan.answers.items()}
    return {"take": plan.option, "asked": list(plan.answers), **answers}


def plan_for(instrument: Instrument, take: str = "", pieces: int = 1, **answers: str) -> Plan:
    """A plan for a single package: every check yes, but for those named."""
    answer = decide_for_instrument(instrument, pieces=pieces)
    option = chosen(answer, take)
    assert option is not None
    given = {check.key: "yes" for check in answer.guidance_in(option.candidate).checks}
    return Plan(option.key, given | answers)
