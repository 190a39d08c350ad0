"""Counting by scan: the right line, and clear refusals."""

from __future__ import annotations

import pytest

from assembly.bench import builds, counting
from assembly.bench.signing import answer_for
from assembly.bench.tally import tally_of
from assembly.models import Build
from catalog.models import Instrument
from tests.factories import bench as at
from tests.factories import catalog as make

pytestmark = pytest.mark.django_db


def scan(build: Build, words: str, key: str = "") -> counting.Said:
    return counting.scan(at.person(), tally_of(build), words, key or at.key())[0]


def test_a_scan_counts_its_line(build: Build) -> None:
    said = scan(build, "TS-1-2")
    assert (said.tone, [one.inside for one in tally_of(build).lines]) == ("right", [0, 1])


def test_a_scan_sent_twice_counts_once(build: Build) -> None:
    for _ in range(2):
        said = scan(build, "TS-1-2", "scan-once-key")
    assert (said.words, tally_of(build).inside) == ("That came twice. It was counted once.", 1)


def test_a_scan_beyond_the_line_offers_to_lay_it_aside(build: Build) -> None:
    scan(build, "TS-1-1")
    said = scan(build, "TS-1-1")
    assert (said.tone, [offer.act for offer in said.offers]) == ("wrong", ["over"])


def test_the_second_line_of_the_same_instrument_is_counted_when_the_first_is_full() -> None:
    instrument_set = at.a_set()
    first = instrument_set.current.lines.first()
    make.Line(count_sheet=instrument_set.current, order=9, instrument=first.instrument, quantity=1)
    build = at.a_build(instrument_set)
    for _ in range(2):
        scan(build, "TS-1-1")
    assert [one.inside for one in tally_of(build).lines] == [1, 0, 1]


def test_a_wrong_instrument_is_refused_with_what_it_belongs_to(build: Build) -> None:
    at.a_set("TS-2")
    said = scan(build, "TS-2-1")
    assert (said.tone, "It belongs to TS-2" in said.words) == ("wrong", True)


def test_an_instrument_of_no_set_is_said_to_be_packed_singly(build: Build) -> None:
    make.Instrument(item_number="T-LONE")
    assert "in no set" in scan(build, "T-LONE").words


def test_what_is_not_in_the_catalog_is_refused(build: Build) -> None:
    said = scan(build, "4006381333931")
    assert (said.tone, "No instrument bears this code" in said.words) == ("wrong", True)


def test_a_package_label_is_no_instrument(build: Build) -> None:
    package = at.signed(at.a_build(at.a_set("TS-2")))
    assert "label of package" in scan(build, package.code).words


def test_a_set_code_is_no_instrument(build: Build) -> None:
    assert "code of the set" in scan(build, "TS-1").words


def test_an_accepted_substitute_is_offered_and_not_counted_yet() -> None:
    other = make.Instrument(item_number="T-SUB")
    instrument_set = at.a_set()
    instrument_set.current.lines.first().substitutes.add(other)
    build = at.a_build(instrument_set)
    said = scan(build, "T-SUB")
    assert ([offer.act for offer in said.offers], tally_of(build).inside) == (["substitute"], 0)


def test_a_substitute_is_offered_where_its_own_line_is_complete() -> None:
    instrument_set = at.a_set()
    first, second = instrument_set.current.lines.all()
    second.substitutes.add(first.instrument)
    build = at.a_build(instrument_set)
    scan(build, "TS-1-1")
    said = scan(build, "TS-1-1")
    assert (said.tone, [offer.act for offer in said.offers]) == ("ask", ["substitute", "over"])
    assert f"{second.instrument.name} is 2 short" in said.words


def test_a_substitute_that_is_in_is_told_as_one() -> None:
    other = make.Instrument(item_number="T-SUB", name="Spare")
    instrument_set = at.a_set()
    instrument_set.current.lines.first().substitutes.add(other)
    build = at.a_build(instrument_set)
    line = tally_of(build).lines[0].line
    event = builds.substitute(at.person(), build.pk, line.pk, other.pk, 1, at.key())
    words = counting.done_words(event, tally_of(build)).words
    assert words.endswith("1 of 1 in, 1 of them a substitute: T-SUB Spare")


def test_letters_that_fit_one_line_mark_it_and_count_nothing() -> None:
    instrument_set = at.a_set()
    line = instrument_set.current.lines.first()
    line.instrument.also_known_as = "pickups"
    line.instrument.save()
    build = at.a_build(instrument_set)
    make.Instrument(also_known_as="pickups with teeth")
    said = scan(build, "picku")
    assert (said.tone, said.line, tally_of(build).inside) == (
        "ask",
        tally_of(build).lines[0].line.pk,
        0,
    )
    assert [offer.act for offer in said.offers] == ["count"]


def test_a_whole_nickname_counts_nothing_either() -> None:
    instrument_set = at.a_set()
    Instrument.objects.filter(item_number="TS-1-1").update(also_known_as="mayo")
    build = at.a_build(instrument_set)
    assert (scan(build, "mayo").tone, tally_of(build).inside) == ("ask", 0)


def test_letters_that_fit_several_lines_ask_which(build: Build) -> None:
    said = scan(build, "test forceps")
    assert ([offer.act for offer in said.offers], tally_of(build).inside) == (["mark"] * 2, 0)


def test_so_many_pieces_typed_count_the_line_shown(build: Build) -> None:
    line = tally_of(build).lines[1].line
    counting.scan(at.person(), tally_of(build), "2", at.key(), line.pk)
    assert [one.inside for one in tally_of(build).lines] == [0, 2]


def test_a_number_that_is_an_item_is_that_item_and_no_quantity() -> None:
    instrument_set = at.a_set()
    Instrument.objects.filter(item_number="TS-1-1").update(item_number="2")
    build = at.a_build(instrument_set)
    line = tally_of(build).lines[1].line
    counting.scan(at.person(), tally_of(build), "2", at.key(), line.pk)
    assert [one.inside for one in tally_of(build).lines] == [1, 0]


def test_the_last_piece_leads_on_to_packing(build: Build) -> None:
    scan(build, "TS-1-1")
    line = tally_of(build).lines[1].line
    said, _ = counting.scan(at.person(), tally_of(build), "2", at.key(), line.pk)
    assert [offer.act for offer in said.offers] == ["pack"]


def test_before_the_first_count_the_decision_is_that_of_the_whole_sheet(build: Build) -> None:
    answer = answer_for(tally_of(build))
    assert answer and [line.quantity for line in answer.question.lines] == [1, 2]


def test_what_is_said_to_be_short_is_not_in_the_decision(build: Build) -> None:
    line = tally_of(build).lines[1].line
    builds.short(at.person(), build.pk, line.pk, 1, "", at.key())
    answer = answer_for(tally_of(build))
    assert answer and [line.quantity for line in answer.question.lines] == [1, 1]
