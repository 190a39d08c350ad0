"""Two verbs on one package at the same moment: neither fails, and none is overlooked.

A package that was made void or recalled while somebody sends, hands over or loads it must
not be on its way as if nothing had happened. Each race is run several times over, by
``test_races.py`` in a process of its own.
"""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor, wait
from dataclasses import replace
from functools import partial
from typing import Any

import pytest

from assembly.bench import signing
from assembly.complaints import saying
from assembly.judging.decisions import decide_for_instrument
from assembly.ledger import Refused
from assembly.models import Load, Package, Recall, Request, ShelfMove
from assembly.packages import lots, recording, sealing, shelf
from assembly.requests import asking, working
from assembly.requests import together as all_lines
from assembly.requests.asking import Wanted
from assembly.sterilizing import gathering, recalling, releasing
from assembly.upkeep import containers
from tests.at_once import ROUNDS, together
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import loads
from tests.factories import requests as ask

A_MOMENT_S = 2
"""Long enough for a press that nothing keeps waiting."""


def promised(*, sent: bool) -> tuple[Request, Package]:
    """A request that is taken, and a sterile package tied to it; on the way where ``sent``."""
    one = ask.a_request()
    working.take(at.person(), one.pk, at.key())
    assert one.instrument is not None
    package = ask.on_shelf(one.instrument)
    if sent:
        working.send(at.person(), one.pk, at.key(), package)
    else:
        working.tie(at.person(), one.pk, package)
    return one, package


def load_of(package: Package) -> Load:
    return Load.objects.get(loaded__package=package)


def last_move(package: Package) -> str:
    return ShelfMove.objects.filter(package=package).latest("pk").state


def goes_on_as_if_nothing_had_been(one: Request, package: Package) -> bool:
    """On the way with the package, or handed over and not told of it."""
    one.refresh_from_db()
    on_the_way = one.state == "on the way" and one.ties.filter(let_go_at=None).exists()
    handed = one.state == "handed over" and package.code not in one.steps.last().reason
    return on_the_way or handed


def test_handed_over_while_its_package_is_voided(transactional_db: None) -> None:
    for _ in range(ROUNDS):
        one, package = promised(sent=True)
        together(
            partial(working.hand_over, at.person(), one.pk, at.key()),
            partial(recording.void_package, at.person(), package.pk, "seal open"),
        )
        package.refresh_from_db()
        assert (package.is_void, goes_on_as_if_nothing_had_been(one, package)) == (True, False)


def test_handed_over_while_its_load_is_recalled(transactional_db: None) -> None:
    for _ in range(ROUNDS):
        one, package = promised(sent=True)
        load = load_of(package)
        together(
            partial(working.hand_over, at.person(), one.pk, at.key()),
            partial(recalling.recall_load, at.person(), load.pk, at.key(), "it grew"),
        )
        load.refresh_from_db()
        assert (load.state, last_move(package)) == ("recalled", "recalled")
        assert not goes_on_as_if_nothing_had_been(one, package)


def test_handed_over_while_something_was_wrong(transactional_db: None) -> None:
    for _ in range(ROUNDS):
        one, package = promised(sent=True)
        together(
            partial(working.hand_over, at.person(), one.pk, at.key()),
            partial(saying.say, at.person(), package.pk, "wet", at.key()),
        )
        assert last_move(package) == "damaged"
        assert not goes_on_as_if_nothing_had_been(one, package)


def test_a_load_is_recalled_while_its_packages_are_handed_over(transactional_db: None) -> None:
    for _ in range(ROUNDS):
        three = [ask.a_package(make.Instrument()) for _ in range(3)]
        load = loads.released(*three)
        sent = []
        for package in three[:2]:
            shelf.put_away(at.person(), package, ask.a_place(), at.key())
            sent.append(ask.a_request(package.instrument))
            working.take(at.person(), sent[-1].pk, at.key())
            working.send(at.person(), sent[-1].pk, at.key(), package)
        together(
            partial(recalling.recall_load, at.person(), load.pk, at.key(), "it grew"),
            partial(working.hand_over, at.person(), sent[1].pk, at.key()),
            partial(working.hand_over, at.person(), sent[0].pk, at.key()),
        )
        load.refresh_from_db()
        assert (load.state, {last_move(one) for one in three}) == ("recalled", {"recalled"})


def test_sent_while_its_load_is_recalled(transactional_db: None) -> None:
    for _ in range(ROUNDS):
        one, package = promised(sent=False)
        load = load_of(package)
        together(
            partial(working.send, at.person(), one.pk, at.key()),
            partial(recalling.recall_load, at.person(), load.pk, at.key(), "it grew"),
        )
        assert last_move(package) == "recalled"
        assert not goes_on_as_if_nothing_had_been(one, package)


def test_all_lines_are_sent_while_the_load_of_some_is_recalled(transactional_db: None) -> None:
    """Two of three lines are in the load: all go and two are told of, or none goes."""
    for _ in range(ROUNDS):
        packages = [ask.a_package(make.Instrument()) for _ in range(3)]
        load = loads.released(*packages[:2])
        loads.released(packages[2])
        wanted = [(Wanted(instrument=one.instrument), 1) for one in packages]
        first = asking.ask_together(ask.liaison(), wanted, ask.ask_for(), at.key())
        all_lines.take_all(at.person(), first.pk, at.key())
        lines = list(all_lines.lines_of(first.pk))
        for line, package in zip(lines, packages, strict=True):
            working.tie(at.person(), line.pk, package)
        sent, _ = together(
            partial(all_lines.send_all, at.person(), first.pk, at.key()),
            partial(recalling.recall_load, at.person(), load.pk, at.key(), "it grew"),
        )
        load.refresh_from_db()
        assert (load.state, {last_move(one) for one in packages[:2]}) == ("recalled", {"recalled"})
        for line, package in zip(lines[:2], packages[:2], strict=True):
            assert not goes_on_as_if_nothing_had_been(line, package)
        lines[2].refresh_from_db()
        assert (lines[2].state == "on the way") is not isinstance(sent, Refused)


def test_scanned_and_sent_while_its_load_is_recalled(transactional_db: None) -> None:
    for _ in range(ROUNDS):
        one, package = promised(sent=False)
        working.untie(at.person(), one.pk, package)
        load = load_of(package)
        together(
            partial(working.send, at.person(), one.pk, at.key(), package),
            partial(recalling.recall_load, at.person(), load.pk, at.key(), "it grew"),
        )
        assert last_move(package) == "recalled"
        assert not goes_on_as_if_nothing_had_been(one, package)


def test_scanned_and_sent_while_its_package_is_voided(transactional_db: None) -> None:
    for _ in range(ROUNDS):
        one, package = promised(sent=False)
        working.untie(at.person(), one.pk, package)
        together(
            partial(working.send, at.person(), one.pk, at.key(), package),
            partial(recording.void_package, at.person(), package.pk, "seal open"),
        )
        assert not goes_on_as_if_nothing_had_been(one, package)


def test_a_load_is_recalled_while_one_of_it_is_voided(transactional_db: None) -> None:
    for _ in range(ROUNDS):
        package = ask.a_package(make.Instrument())
        load = loads.released(package, ask.a_package(make.Instrument()))
        together(
            partial(recalling.recall_load, at.person(), load.pk, at.key(), "it grew"),
            partial(recording.void_package, at.person(), package.pk, "seal open"),
        )
        load.refresh_from_db()
        package.refresh_from_db()
        assert (load.state, package.is_void) == ("recalled", True)


def test_put_into_a_load_while_it_is_voided(transactional_db: None) -> None:
    for _ in range(ROUNDS):
        package, load = ask.a_package(make.Instrument()), loads.a_load()
        Load.objects.filter(pk=load.pk).update(programme=package.method)
        together(
            partial(gathering.add, at.person(), load.pk, package, at.key()),
            partial(recording.void_package, at.person(), package.pk, "seal open"),
        )
        put_in = load.steps.filter(words=f"{package.code} put in").first()
        package.refresh_from_db()
        assert put_in is None or put_in.at <= package.void_at


def test_voided_while_somebody_looks_at_its_seal(
    transactional_db: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Void is void: a seal is looked at before it, or not at all."""
    package = ask.a_package_to_seal(make.Instrument())
    seal_meanwhile(
        monkeypatch, package, partial(recording.void_package, at.person(), package.pk, "torn")
    )
    assert package.is_void and sealed_before_it_was_void(package)


def test_a_set_is_opened_again_while_somebody_looks_at_its_seal(
    transactional_db: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    build = at.a_build()
    at.complete(build)
    signing.pack(at.person(), build.pk, at.all_yes(build), at.key())
    package = signing.sign(at.person(), build.pk, at.key())
    again = partial(signing.reopen, at.person(), build.pk, "a piece is missing", at.key())
    seal_meanwhile(monkeypatch, package, again)
    assert package.is_void and sealed_before_it_was_void(package)


def seal_meanwhile(
    monkeypatch: pytest.MonkeyPatch, package: Package, press: Callable[[], Any]
) -> None:
    """Somebody presses while the package is sealed, after it was read and before it is written:
    what the lock keeps waiting goes on when it is sealed."""
    answers, looked_at = sealing.all_right(package), sealing.checks_of
    pressed: list[Future[Any]] = []

    def meanwhile(one: Package) -> Any:
        pressed.append(pool.submit(together, press))
        wait(pressed, timeout=A_MOMENT_S)
        return looked_at(one)

    with ThreadPoolExecutor(1) as pool:
        monkeypatch.setattr(sealing, "checks_of", meanwhile)
        sealing.seal(at.person(), package.pk, answers)
    assert len(pressed) == 1 and not isinstance(pressed[0].result()[0], Refused)
    package.refresh_from_db()


def sealed_before_it_was_void(package: Package) -> bool:
    return package.sealed_at is None or package.sealed_at <= package.void_at


def test_a_sterilizer_is_recalled_while_its_packages_are_handed_over_and_voided(
    transactional_db: None,
) -> None:
    for _ in range(ROUNDS):
        one, package = promised(sent=True)
        torn = ask.a_package(make.Instrument())
        loads.released(torn)
        Load.objects.update(biological=loads.NONE)
        together(
            partial(recalling.recall, at.person(), "sterilizer", "ST1", at.key(), "it grew"),
            partial(working.hand_over, at.person(), one.pk, at.key()),
            partial(recording.void_package, at.person(), torn.pk, "seal open"),
        )
        torn.refresh_from_db()
        held = set(Recall.objects.latest("pk").packages.values_list("package", flat=True))
        assert {package.pk, torn.pk} <= held
        assert (last_move(package), torn.is_void) == ("recalled", True)
        assert not goes_on_as_if_nothing_had_been(one, package)


def test_a_lot_is_recalled_while_something_is_packed_with_it(transactional_db: None) -> None:
    make.Pouch()
    for number in range(ROUNDS):
        instrument, lot = make.Instrument(), f"L-{number}"
        plan, answer = at.plan_for(instrument), decide_for_instrument(instrument)
        lots.open_lot(at.person(), "indicator:steam", lot, at.key())
        together(
            partial(recalling.recall, at.person(), "lot", lot, at.key(), "no colour change"),
            partial(recording.pack_single, at.person(), instrument, answer, plan, at.key()),
        )
        assert lots.in_use().get(lot=lot).recalled_at
        for package in lots.packed_with(lot):
            assert last_move(package) == "recalled"


def test_one_container_goes_around_one_of_two_that_are_packed(transactional_db: None) -> None:
    kind = at.a_set("TS-1", (1,)).container
    assert kind is not None
    option = f"container:{kind.code}"
    for number in range(ROUNDS):
        one = containers.add_container(at.person(), kind, f"C-{number}", at.key())
        pressed = []
        for instrument in (make.Instrument(), make.Instrument()):
            plan = replace(at.plan_for(instrument, option), container=one.number)
            answer = decide_for_instrument(instrument)
            pressed.append(partial(
                recording.pack_single, at.person(), instrument, answer, plan, at.key()
            ))  # fmt: skip
        got = together(*pressed)
        assert (one.packages.count(), sum(isinstance(each, Refused) for each in got)) == (1, 1)


def test_a_recall_and_a_release_at_the_same_moment(transactional_db: None) -> None:
    for _ in range(ROUNDS):
        package = ask.a_package(make.Instrument())
        load = loads.running(package)
        together(
            partial(recalling.recall, at.person(), "load", load.lot, at.key(), "it grew"),
            partial(releasing.release, at.person(), load.pk, loads.all_yes(), "none", at.key()),
        )
        load.refresh_from_db()
        assert (load.state in ("recalled", "not released"), last_move(package)) == (
            True, "recalled",
        )  # fmt: skip
