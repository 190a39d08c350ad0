"""Finding instruments and sets the way people call them."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client

from catalog.lookup.finding import Want, find
from catalog.lookup.narrowing import MOST_GUESSED, narrowed
from catalog.lookup.offered import Kind
from catalog.models import Instrument
from tests.factories import catalog as make

pytestmark = pytest.mark.django_db


def numbers(words: str, **want: Any) -> list[str]:
    """Item numbers in the order offered; the one that is meant alone."""
    found = find(words, Want(**want))
    things = [found.one] if isinstance(found.one, Instrument) else found.instruments
    return [one.item_number for one in things]


def test_a_nickname_finds_its_instrument() -> None:
    make.Instrument(item_number="T-1", also_known_as="long Metz; big one")
    make.Instrument(item_number="T-2")
    assert numbers("long metz") == ["T-1"]


def test_an_exact_nickname_comes_before_a_part_of_a_name() -> None:
    make.Instrument(item_number="T-1", name="Kelly clamp, long")
    make.Instrument(item_number="T-2", name="Forceps", also_known_as="snap; Kelly")
    assert numbers("Kelly") == ["T-2", "T-1"]


def test_an_exact_item_number_comes_first() -> None:
    make.Instrument(item_number="T-10", name="About T-1")
    make.Instrument(item_number="T-1")
    assert numbers("t-1")[0] == "T-1"


def test_words_may_stand_in_any_order_and_place() -> None:
    make.Instrument(item_number="T-1", name="Scissors, curved", maker="Harrowgate Forge")
    assert numbers("forge curved") == ["T-1"]


def test_a_retired_instrument_is_not_found() -> None:
    make.Instrument(item_number="T-1", retired=True)
    assert numbers("T-1") == []


def test_a_set_is_found_by_its_service() -> None:
    found = make.InstrumentSet(service="Orthopaedics")
    make.InstrumentSet(service="Emergency")
    assert find("ortho").one == found


def test_retired_ones_are_found_where_they_are_wanted() -> None:
    make.Instrument(item_number="T-1", retired=True)
    assert numbers("T-1", retired=True) == ["T-1"]


def test_only_the_kinds_that_are_wanted_are_found() -> None:
    make.InstrumentSet(code="TS-1", name="Hand set")
    assert find("hand", Want(kinds=frozenset({Kind.INSTRUMENTS}))).nothing


def test_no_more_than_were_wanted_and_it_says_so() -> None:
    make.Instrument.create_batch(3, name="Hook")
    found = find("hook", Want(limit=2))
    assert (len(found.instruments), found.more) == (2, True)


class TestWordsOnTheirOwn:
    def mosquitoes(self) -> None:
        make.Instrument(item_number="T-1", name="Mosquito forceps, curved")
        make.Instrument(item_number="T-2", name="Mosquito forceps, straight")
        for _ in range(5):
            make.Instrument(name="Adson forceps")

    def test_a_word_too_many_does_not_hide_the_rest(self) -> None:
        self.mosquitoes()
        assert numbers("mosquito grabbing forceps") == ["T-1", "T-2"]

    def test_no_name_has_all_three_words(self) -> None:
        self.mosquitoes()
        assert numbers("mosquito artery forceps") == ["T-1", "T-2"]

    def test_a_word_that_all_have_finds_nothing_alone(self) -> None:
        make.Instrument.create_batch(9, name="Adson forceps")
        assert find("xylophone forceps").nothing

    def test_a_guess_is_said_to_be_one_and_never_opened(self) -> None:
        make.Instrument(name="Weitlaner retractor")
        found = find("weitlander")
        assert (found.one, found.guessed, len(found.instruments)) == (None, True, 1)

    def test_unforgiving_a_slip_finds_nothing(self) -> None:
        make.Instrument(name="Weitlaner retractor")
        assert find("weitlander", Want(forgiving=False)).nothing

    @pytest.mark.parametrize("typed", ["HF-1043", "1043", "HF1043", "HF-10427"])
    def test_a_number_is_never_forgiven(self, typed: str) -> None:
        make.Instrument(item_number="HF-1042")
        assert find(typed).nothing

    def test_a_number_without_its_hyphen_is_offered(self) -> None:
        make.Instrument(item_number="HF-1042")
        make.Instrument(item_number="HF-1043")
        assert numbers("HF1042") == ["HF-1042"]

    def test_a_number_inside_another_is_not_opened(self) -> None:
        make.Instrument(item_number="HF-1230", name="Kocher forceps", length_mm=180)
        assert find("kocher 230").one is None

    def test_a_bare_number_may_be_the_length(self) -> None:
        make.Instrument(item_number="T-1", name="Kocher forceps", length_mm=180)
        make.Instrument(item_number="T-2", name="Kocher forceps", length_mm=230)
        assert numbers("kocher 23") == ["T-2"]


class TestSizes:
    """1 in is 25.4 mm (international yard and pound agreement, 1959)."""

    def holders(self) -> None:
        make.Instrument(item_number="T-1", name="Needle holder", length_mm=200)
        make.Instrument(item_number="T-2", name="Needle holder", length_mm=150)
        make.Instrument(item_number="T-3", name="Needle holder 18 cm", length_mm=None)
        make.Instrument(item_number="T-4", name="Needle holder", length_mm=None)

    def test_the_nearest_comes_first_and_unknown_ones_last(self) -> None:
        self.holders()
        assert numbers("needle holder 6 in") == ["T-2", "T-3", "T-1", "T-4"]

    def test_a_size_near_enough_is_still_not_opened(self) -> None:
        make.Instrument(name="Needle holder", length_mm=150)
        assert find("needle holder 6 in").one is None

    def test_the_size_on_record_is_opened(self) -> None:
        self.holders()
        assert numbers("needle holder 150 mm") == ["T-2"]

    def test_a_size_in_the_name_is_opened(self) -> None:
        make.Instrument(item_number="T-1", name="Osteotome 12 mm", length_mm=205)
        make.Instrument(item_number="T-2", name="Osteotome 25 mm", length_mm=210)
        assert numbers("osteotome 25 mm") == ["T-2"]


class TestSynonyms:
    """Which names the trade takes for each other is common practice, no source."""

    @pytest.mark.parametrize(
        ("name", "typed"),
        [
            ("Crile hemostat", "artery forceps"), ("Crile artery forceps", "hemostats"),
            ("Kelly forceps", "clamp"), ("BP handle no. 3", "scalpel handle"),
            ("Scalpel handle no. 3", "BP handle"), ("Thumb forceps", "dissecting forceps"),
            ("Dissecting forceps", "tissue forceps"), ("Needle holder", "needle driver"),
            ("Towel clamp", "towel clip"), ("Suction tube", "sucker"),
        ],
    )  # fmt: skip
    def test_it_is_listed_and_not_opened(self, name: str, typed: str) -> None:
        one = make.Instrument(name=name)
        make.Instrument(name="Bone mallet")
        found = find(typed)
        assert (found.one, found.instruments, found.guessed) == (None, (one,), False)

    def test_the_words_typed_come_first(self) -> None:
        make.Instrument(item_number="T-1", name="Needle holder")
        make.Instrument(item_number="T-2", name="Needle driver")
        assert numbers("needle driver") == ["T-2", "T-1"]

    def test_a_kind_does_not_stand_for_its_group(self) -> None:
        make.Instrument(name="Right-angle clamp")
        assert find("mosquito").nothing


def test_a_long_question_is_cut_with_a_word(coordinator: Client) -> None:
    make.Instrument(item_number="T-1", name="Needle holder")
    asked = " ".join(["needle holder"] * 6 + [f"w{number}" for number in range(4)])
    for page in ("/instruments/", "/find/", "/records/", "/shelf/packages/", "/shelf/places/"):
        text = coordinator.get(page, {"q": asked}, follow=True).content.decode()
        assert "Only the first 12 words" in text


class TestAListNarrowed:
    def narrowed(self, words: str) -> list[Instrument]:
        return list(narrowed(words, Instrument.objects.all(), Kind.INSTRUMENTS).rows)

    def test_all_that_fits_is_there_however_much(self) -> None:
        """A guess is cut, a list has pages."""
        make.Instrument.create_batch(MOST_GUESSED + 1, name="Kelly clamp")
        assert len(self.narrowed("kelly")) == MOST_GUESSED + 1

    def test_what_is_only_alike_is_shown_where_nothing_fits(self) -> None:
        kelly = make.Instrument(name="Kelly clamp")
        assert self.narrowed("kellly") == [kelly]

    def test_an_empty_list_without_words_says_nothing(self) -> None:
        found = narrowed("", Instrument.objects.all(), Kind.INSTRUMENTS)
        assert (list(found.rows), found.said, found.words) == ([], "", "")


def test_what_is_meant_or_offered_is_something() -> None:
    make.Instrument(item_number="T-1", name="Kelly clamp")
    make.Instrument(item_number="T-2", name="Kelly clamp, long")
    assert [find(words).nothing for words in ("T-1", "kelly", "wrench")] == [False, False, True]


def test_what_its_number_means_is_no_guess() -> None:
    make.Instrument(item_number="T-1")
    found = find("T-1")
    assert (found.exact, found.guessed, found.cut, found.refused) == (True, False, False, False)


def test_twelve_are_offered_where_more_fit_and_it_says_so() -> None:
    make.Instrument.create_batch(13, name="Kelly clamp")
    found = find("kelly")
    assert (len(found.instruments), found.more) == (12, True)
