"""The same again: several packages alike in one press, each under its own label and seal."""

from __future__ import annotations

import pypdfium2
import pytest
import zxingcpp
from django.test import Client

from assembly.judging.decisions import decide_for_instrument
from assembly.judging.taking import Plan
from assembly.ledger import Refused
from assembly.models import Package
from assembly.packages import recording, sealing
from assembly.packages.standing import Word, standing_of
from catalog.models import Instrument
from tests.assembly.singles.test_single_page import post
from tests.factories import bench as at
from tests.factories import catalog as make

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def instrument(db: None) -> Instrument:
    make.Pouch(code="P-150")
    made: Instrument = make.Instrument(item_number="T-1", hollow=False, parts_apart="",
                                       spares_on_hand=7)  # fmt: skip
    return made


def packed(instrument: Instrument, copies: int, key: str = "", **plan: bool) -> Package:
    given = at.plan_for(instrument)
    asked = Plan(given.option, given.answers, copies=copies, **plan)
    answer = decide_for_instrument(instrument)
    return recording.pack_single(at.person(), instrument, answer, asked, key or at.key())


def waiting() -> int:
    return sum(standing_of(one).word == Word.UNSEALED for one in Package.objects.all())


class TestVerb:
    @pytest.mark.parametrize("copies", [1, 5, 50])
    def test_each_has_a_code_of_its_own(self, instrument: Instrument, copies: int) -> None:
        first = packed(instrument, copies)
        assert len({one.code for one in sealing.alike(first)}) == copies

    def test_the_same_key_makes_them_once(self, instrument: Instrument) -> None:
        first = packed(instrument, 5, key="five-in-one-press")
        assert packed(instrument, 5, key="five-in-one-press") == first
        assert Package.objects.count() == 5

    @pytest.mark.parametrize("copies", [0, -1, 51])
    def test_more_than_can_be_looked_at_in_one_go_is_refused(
        self, instrument: Instrument, copies: int
    ) -> None:
        with pytest.raises(Refused, match="1 to 50 are closed alike"):
            packed(instrument, copies)
        assert not Package.objects.exists()

    def test_where_one_fails_there_is_none(
        self, instrument: Instrument, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        made = recording.record_package
        codes = iter(range(3))

        def third_fails(*args: object, **kwargs: object) -> Package:
            if next(codes) == 2:
                raise Refused("no more")
            return made(*args, **kwargs)  # type: ignore[arg-type]

        monkeypatch.setattr(recording, "record_package", third_fails)
        with pytest.raises(Refused, match="no more"):
            packed(instrument, 5)
        assert not Package.objects.exists()

    def test_the_loose_spares_go_down_by_each(self, instrument: Instrument) -> None:
        packed(instrument, 5, from_spares=True)
        instrument.refresh_from_db()
        assert instrument.spares_on_hand == 2

    def test_seal_and_indicator_are_looked_at_piece_by_piece(self, instrument: Instrument) -> None:
        first = packed(instrument, 2)
        assert [one["key"] for one in first.closed] == ["indicator", "seal", "seal width"]
        assert [one["key"] for one in packed(instrument, 1).closed] == ["seal", "seal width"]


class TestPages:
    @pytest.fixture
    def first(self, instrument: Instrument) -> Package:
        return packed(instrument, 3)

    def test_one_press_leads_to_one_strip(self, technician: Client) -> None:
        answer = post(technician, copies="5")
        first = Package.objects.order_by("pk").first()
        assert first and answer["Location"] == f"/packages/{first.code}/alike/?print=1"

    @pytest.mark.parametrize("typed", ["51", "0", "five"])
    def test_a_number_that_cannot_be_is_refused_and_kept_on_the_page(
        self, technician: Client, typed: str
    ) -> None:
        answer = post(technician, copies=typed)
        assert answer.status_code == 422 and f'value="{typed}"' in answer.content.decode()
        assert not Package.objects.exists()

    @pytest.mark.parametrize("copies", [1, 2])
    def test_the_strip_is_one_file_with_a_code_each_as_often_as_asked(
        self, technician: Client, first: Package, copies: int
    ) -> None:
        page = technician.get(f"/packages/{first.code}/labels/?copies={copies}")
        pdf = pypdfium2.PdfDocument(technician.get(page.context["file"]).content)
        read = [zxingcpp.read_barcodes(page.render(scale=300 / 72).to_pil())[0].text
                for page in pdf]  # fmt: skip
        assert read == [one.code for one in sealing.alike(first) for _ in range(copies)]

    def scan(self, client: Client, first: Package, words: str) -> str:
        form = {"words": words, "key": at.key()}
        return client.post(f"/packages/{first.code}/alike/seal/", form).content.decode()

    def test_a_scan_of_each_label_seals_each(self, technician: Client, first: Package) -> None:
        for left, one in zip((2, 1, 0), list(sealing.alike(first)), strict=True):
            assert f"{one.code} is sealed" in self.scan(technician, first, one.code)
            assert waiting() == left

    def test_what_is_not_of_this_strip_is_said_and_not_sealed(
        self, technician: Client, first: Package, instrument: Instrument
    ) -> None:
        other = packed(instrument, 1)
        assert "is not of this strip" in self.scan(technician, first, other.code)
        assert waiting() == 4

    @pytest.mark.parametrize("words", ["T-1", "", "PK-0000000"])
    def test_what_is_no_label_seals_nothing(
        self, technician: Client, first: Package, words: str
    ) -> None:
        assert "said wrong" in self.scan(technician, first, words)
        assert waiting() == 3
