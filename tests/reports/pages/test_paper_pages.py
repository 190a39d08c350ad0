"""Pages and commands round the papers: previews, refusals, print runs, records."""

from __future__ import annotations

import re
import uuid
from dataclasses import replace
from datetime import date
from itertools import product

import pytest
from django.core.management import CommandError, call_command

from assembly.consequences.policy_actions import override_value
from assembly.judging.facts_from_catalog import policy_in_force
from catalog import background, runs
from catalog.actions import Actor
from catalog.models import Instrument
from reports.documents.papers import MissingElement, PrintError
from reports.gathering.labels.packages import package_label
from reports.pages.sheet_runs import chosen_sets
from tests.factories import catalog as make
from tests.factories import requests as ask
from tests.reports.examples import page_size_mm, page_texts

pytestmark = pytest.mark.django_db
TODAY = date(2026, 3, 6)


@pytest.fixture(autouse=True)
def folder(settings, tmp_path):
    settings.PRINT_FOLDER = str(tmp_path / "runs")


@pytest.fixture
def stock_on_hand():
    make.Instrument(item_number="T-1", name="Test forceps")
    make.Pouch(code="P-1")
    sheet = make.CountSheet(instrument_set__code="TS-1")
    make.Line(count_sheet=sheet)
    make.InstrumentSet(code="TS-2")


TRIED = runs.Run("Tried", 3, "catalog.print_count_sheet")


def opened(total: int) -> uuid.UUID:
    """A run that nobody works on."""
    run = uuid.uuid4()
    runs.open_run(replace(TRIED, total=total), run)
    return run


def own(name: str, value: object) -> None:
    override_value(Actor("a lead", reason="tried"), name, value, since=date(2020, 1, 2),
                   source="our manual")  # fmt: skip


@pytest.mark.parametrize(
    "path", ["instruments/T-1/label/", "instruments/T-1/work-card/", "sets/TS-1/count-sheet/",
             "sets/TS-1/work-card/"],
)  # fmt: skip
def test_a_preview_shows_the_file_that_prints(stock_on_hand, technician, path):
    page = technician.get(f"/{path}")
    file = page.context["file"]
    assert file in page.content.decode().replace("&amp;", "&")
    assert technician.get(file)["Content-Type"] == "application/pdf"


def test_a_page_may_show_its_own_file(stock_on_hand, technician):
    assert technician.get("/instruments/T-1/label.pdf")["X-Frame-Options"] == "SAMEORIGIN"


def test_a_preview_says_why_there_is_no_paper(stock_on_hand, technician):
    page = technician.get("/sets/TS-2/count-sheet/")
    assert "No count sheet of TS-2 is approved yet: approve one first." in page.content.decode()


@pytest.mark.parametrize(("path", "why"), [
    ("instruments/T-1/label.pdf?copies=0", "“0” is no number of copies"),
    ("instruments/T-1/label.pdf?stock=papyrus", "Choose this workstation's stock"),
    ("sets/TS-2/count-sheet.pdf", "approve one first"),
    ("sets/TS-2/work-card.pdf", "approve one first"),
])  # fmt: skip
def test_what_goes_to_the_printer_and_is_refused_is_said_where_it_was_pressed(
    stock_on_hand, technician, path, why
):
    there = technician.get(f"/{path}", headers={"X-Printing": "1"})
    assert (there.status_code, there["Content-Type"][:10]) == (422, "text/plain")
    assert why in there.content.decode()
    assert technician.get(f"/{path}").status_code == 302


def test_copies_start_at_the_first_free_position(stock_on_hand, technician):
    pdf = technician.get("/instruments/T-1/label.pdf?stock=a4-3x8&start=23&copies=3").content
    assert [text.count("T-1 ") > 0 for text in page_texts(pdf)] == [True, True]


@pytest.mark.parametrize(
    ("name", "typed"), [*product(["copies", "start"], ["abc", "2,0", "0"]), ("copies", "")]
)
@pytest.mark.parametrize("path", ["label.pdf", "label/"])
def test_a_number_that_cannot_be_read_prints_nothing(stock_on_hand, technician, path, name, typed):
    page = technician.get(f"/instruments/T-1/{path}?{name}={typed}", follow=True)
    assert page.redirect_chain and f"“{typed}” is no " in page.content.decode()


def test_more_copies_than_are_printed_at_once_are_refused(stock_on_hand, technician):
    page = technician.get("/instruments/T-1/label.pdf?copies=501", follow=True)
    assert "“501” is no number of copies from 1 to 500." in page.content.decode()


def test_a_number_with_white_space_round_it_is_read(stock_on_hand, technician):
    pdf = technician.get("/instruments/T-1/label.pdf?copies=2%20").content
    assert len(page_texts(pdf)) == 2


def test_a_run_prints_every_set_and_names_those_without_a_sheet(stock_on_hand, technician):
    technician.cookies["paper"] = "letter"
    page = technician.post("/papers/count-sheets/", {"codes": ""}, follow=True)
    assert page.context["state"].state == "done"
    file = technician.get(page.redirect_chain[-1][0] + "file/")
    pdf = file.getvalue()
    file.close()
    text = page_texts(pdf)[0]
    assert "TS-1" in text and "No count sheet of TS-2" in text
    assert page_size_mm(pdf)[0] == pytest.approx(215.9, abs=0.1)


def test_sets_are_printed_in_the_order_typed(stock_on_hand):
    found, _ = chosen_sets("ts-2, TS-1 ts-2", "")
    assert [one.code for one in found] == ["TS-2", "TS-1"]


def test_a_code_that_no_set_bears_is_named(stock_on_hand):
    assert chosen_sets("TS-1 TS-99", "")[1] == ["TS-99"]


def test_without_codes_every_set_is_printed(stock_on_hand):
    assert [one.code for one in chosen_sets("", "")[0]] == ["TS-1", "TS-2"]


def test_a_run_of_nothing_is_refused(stock_on_hand, technician):
    page = technician.post("/papers/count-sheets/", {"codes": "NO-1"}, follow=True)
    assert "No set was found" in page.content.decode()


def test_a_run_that_is_stopped_keeps_no_file():
    run = opened(3)
    runs.stop(run)
    runs.work(run, lambda progress, out: progress(1))
    assert (runs.state(run).state, runs.file(run)) == ("stopped", None)


def test_stopping_goes_through_the_page(technician):
    run = opened(3)
    technician.post(f"/papers/runs/{run}/stop/")
    runs.work(run, lambda progress, out: progress(1))
    assert runs.state(run).problem == "It was stopped after 1. Nothing was kept."


def test_a_run_that_fails_says_so():
    run = opened(1)
    with pytest.raises(ZeroDivisionError):
        runs.work(run, lambda progress, out: 1 // 0)
    assert runs.state(run).state == "failed"


def test_a_run_whose_process_is_gone_is_said_to_be_lost():
    assert runs.state(opened(1)).problem == "The run was lost. Start it again."


def test_a_run_goes_on_while_its_process_holds_the_lock():
    run = opened(3)
    with background.held(runs.folder(run) / runs.PROGRESS) as lock:
        background.teller(lock)(2, 3)
        assert (runs.state(run).state, runs.state(run).done) == ("running", 2)


@pytest.fixture
def beside(settings, tmp_path, monkeypatch):
    """The process of a run that was asked for nothing, and the run."""
    monkeypatch.setenv("TMPDIR", str(tmp_path))  # Where the settings of the tests look.
    settings.PRINT_FOLDER = str(tmp_path / settings.RUNS)
    settings.BACKGROUND_IN_PROCESS = False
    run = runs.start(TRIED, {}, "print_run", uuid.uuid4())
    yield background._started[-1], run
    background._started[-1].kill()
    background._started[-1].wait()


def test_a_run_whose_process_is_killed_is_said_to_be_lost(beside):
    process, run = beside
    process.kill()
    process.wait()
    assert runs.state(run).problem == "The run was lost. Start it again."


def test_a_run_whose_process_fails_says_so(beside):
    process, run = beside
    process.wait()
    assert runs.state(run).problem == "The program failed. See its log."


def test_there_is_no_state_of_a_run_nobody_began():
    assert runs.state(uuid.uuid4()) is None


def test_a_liaison_may_not_see_skills_through_the_lists(roles, client):
    from tests.conftest import user_in

    client.force_login(user_in("OR liaison"))
    assert client.get("/papers/lists/skills/").status_code == 403


# --- what the policy wants ------------------------------------------------------------------


def package(**known):
    return package_label(
        policy_in_force(), packed_by="T. Birkett", packed_on=TODAY, double=False, what="Forceps",
        item_number="T-1", barcode_text="T-1", package="Pouch P-1", **known,
    )  # fmt: skip


def test_a_lot_number_is_put_together_as_the_policy_says():
    own("lot_pattern", ["cycle", "day of year", "sterilizer"])
    label = package(sterilizer="A2", cycle="4", sterilized_on=TODAY)
    assert label.lot_number == "4-2026.065-A2"


def test_the_day_of_packing_makes_no_lot():
    own("lot_pattern", ["date"])
    assert package().lot_number == ""
    assert package(sterilized_on=date(2026, 3, 7)).lot_number == "20260307"


def test_an_element_that_the_policy_requires_is_asked_for():
    own("label_required", ["contents", "lot number"])
    with pytest.raises(MissingElement, match="the lot number"):
        package()


def test_a_department_that_wants_dates_gets_no_label_without_one():
    own("shelf_life", "use-by date")
    with pytest.raises(MissingElement, match="a use-by date"):
        package()


def test_a_date_of_the_packagings_ifu_is_printed_in_any_case():
    assert "Use by 6 Sep 2026." in package(expires_on=date(2026, 9, 6)).shelf_words


@pytest.mark.parametrize(("name", "value", "field"), [
    ("label_symbol", "code 128", "symbol"), ("gs1_company_prefix", "0614141", "gs1_prefix"),
])  # fmt: skip
def test_the_code_is_the_policys(name, value, field):
    own(name, value)
    assert getattr(package(), field) == value


def test_the_columns_of_a_sheet_are_the_policys(stock_on_hand, technician):
    own("count_sheet_columns", ["Gezählt"])
    text = page_texts(technician.get("/sets/TS-1/count-sheet.pdf").content)[0]
    assert "Gezählt" in text and "Before" not in text


# --- commands -------------------------------------------------------------------------------


def test_several_sets_are_printed_in_the_order_given(stock_on_hand, tmp_path):
    sheet = make.CountSheet(instrument_set__code="TS-0")
    make.Line(count_sheet=sheet)
    call_command("print_count_sheet", "TS-1", "TS-0", output=str(tmp_path / "a.pdf"))
    texts = page_texts((tmp_path / "a.pdf").read_bytes())
    assert ["TS-1" in texts[1], "TS-0" in texts[2]] == [True, True]


@pytest.mark.parametrize("command", ["print_count_sheet", "print_label"])
def test_a_command_that_is_stopped_writes_nothing(stock_on_hand, tmp_path, monkeypatch, command):
    def stop(done: int) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(f"reports.management.commands.{command}.shown", lambda *known: stop)
    what = ["T-1"] if command == "print_label" else ["--all"]
    with pytest.raises(CommandError, match="Nothing was written"):
        call_command(command, *what, "-o", str(tmp_path / "a.pdf"))
    assert not list(tmp_path.iterdir())


def test_all_sets_name_those_that_were_not_printed(stock_on_hand, tmp_path, capsys):
    call_command("print_count_sheet", all=True, output=str(tmp_path / "a.pdf"))
    assert "Not printed: TS-2" in capsys.readouterr().err


@pytest.mark.parametrize("words", [[], ["TS-1", "--all"]])
def test_which_sets_must_be_clear(words, tmp_path):
    with pytest.raises(CommandError):
        call_command("print_count_sheet", *words, "-o", str(tmp_path / "a.pdf"))


def test_the_label_of_an_instrument_is_for_its_shelf(stock_on_hand, tmp_path):
    call_command("print_label", "T-1", output=str(tmp_path / "a.pdf"))
    (text,) = page_texts((tmp_path / "a.pdf").read_bytes())
    assert "Usually: pouch" in text
    assert not re.search("packed|sterile|lot|date|20[0-9][0-9]", text, re.IGNORECASE)


def test_a_packages_label_is_printed_by_its_code_with_where_it_goes(
    stock_on_hand, tmp_path, capsys
):
    package = ask.a_package(Instrument.objects.get(item_number="T-1"))
    call_command("print_label", package.code.lower(), output=str(tmp_path / "a.pdf"), copies=2)
    texts = page_texts((tmp_path / "a.pdf").read_bytes())
    assert [package.code in text and "Packed" in text for text in texts] == [True, True]
    assert "film side" in capsys.readouterr().out


def test_a_label_that_cannot_be_printed_takes_no_other_with_it(
    stock_on_hand, tmp_path, capsys, monkeypatch
):
    package = ask.a_package(Instrument.objects.get(item_number="T-1"))

    def refusing(*_, **__):
        raise PrintError("Not printed. Lot: too long.")

    monkeypatch.setattr("reports.management.commands.print_label.fitting_label", refusing)
    call_command("print_label", package.code, "T-1", output=str(tmp_path / "a.pdf"))
    bad, good = page_texts((tmp_path / "a.pdf").read_bytes())
    assert "NO LABEL" in bad and package.what in good
    assert f"Not printed: {package}: Lot: too long." in capsys.readouterr().err
    with pytest.raises(CommandError, match="Lot: too long"):
        call_command("print_label", package.code, output=str(tmp_path / "b.pdf"))


@pytest.mark.parametrize(("code", "said"), [
    ("PK-000001Z", "was misread"), ("NOPE-9", "item number NOPE-9"),
])  # fmt: skip
def test_a_code_that_is_none_prints_nothing(stock_on_hand, tmp_path, code, said):
    with pytest.raises(CommandError, match=said):
        call_command("print_label", "T-1", code, output=str(tmp_path / "a.pdf"))
    assert not list(tmp_path.iterdir())


def test_no_copies_are_refused_for_what_they_are(stock_on_hand, tmp_path):
    with pytest.raises(CommandError, match="print 1 or more"):
        call_command("print_label", "T-1", copies=0, output=str(tmp_path / "a.pdf"))


@pytest.mark.parametrize("number", ["T-1", "TS-1"])
def test_a_work_card_is_printed(stock_on_hand, tmp_path, number):
    call_command("print_work_card", number, output=str(tmp_path / "a.pdf"))
    assert number in page_texts((tmp_path / "a.pdf").read_bytes())[0]


def test_a_run_says_what_was_printed_and_what_was_not(stock_on_hand, technician):
    sent = {"codes": "TS-1 TS-2 NOPE-9", "paper": "A4"}
    page = technician.post("/papers/count-sheets/", sent, follow=True)
    said = page.context["state"].said
    assert said.startswith("Printed: 1 count sheet. Not printed: NOPE-9: no set bears this code;")


def test_a_sheet_that_fits_on_no_page_does_not_stop_the_others(stock_on_hand, technician):
    make.Line(count_sheet__instrument_set__code="TS-3",
              count_sheet__instrument_set__name="A set", note="words " * 4000)  # fmt: skip
    page = technician.post("/papers/count-sheets/", {"codes": "TS-1 TS-3"}, follow=True)
    assert page.context["state"].said.startswith("Printed: 1 count sheet. Not printed: TS-3")
