"""A coordinator's spreadsheet, made worse: uploaded, mapped, confirmed, applied, taken back."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import openpyxl
import pytest
from playwright.sync_api import Page

from tests.browser import site as sites
from tests.browser.screens import Screens
from tests.browser.steps.looking import violations

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser")]

DEMO_LIST = sites.ROOT / "fixtures" / "demo" / "instrument_master_list.xlsx"
REPORT = "#rows table"
Walk = tuple[Page, list[str]]
"""The page at the end, and what it said at each step."""


@pytest.fixture(scope="module")
def own_site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[sites.Site]:
    """A hospital of their own for tests that change the catalog."""
    with sites.served(tmp_path_factory.mktemp("spreadsheets")) as site:
        yield site


@pytest.fixture(scope="module")
def worse(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's list with an unknown heading, a hidden row, a twin, another number and a
    changed name."""
    book = openpyxl.load_workbook(DEMO_LIST)
    sheet = book.active
    sheet["F4"] = "Reach"
    sheet["B10"] = "Mayo scissors, curved, reground"
    sheet["A13"], sheet["B13"] = "HF-7001", "Scissors Mayo, straigt 170 mm"
    sheet["A11"] = "HF-7002"
    sheet.row_dimensions[20].hidden = True
    path = tmp_path_factory.mktemp("files") / "worse.xlsx"
    book.save(path)
    return path


@pytest.fixture(scope="module")
def walked(own_site: sites.Site, screens: Screens, worse: Path) -> Iterator[Walk]:
    """The whole way once; what the page said at each step."""
    with screens.one() as page:
        page.set_default_timeout(120_000)  # each step is a process of its own: slow, not wrong
        own_site.sign_in(page, "coordinator", at="/")
        yield page, walk(page, worse)


def walk(page: Page, worse: Path) -> list[str]:
    """From the first page to the spreadsheet taken back; what was said at each step."""
    said: list[str] = []

    def note() -> None:
        said.append(f"{page.inner_text('#said')}\n{page.inner_text('main')}")

    page.get_by_role("button", name="More").click()
    page.click("nav >> text=Spreadsheets")
    page.set_input_files("[name=file]", str(worse))
    page.click("text=Upload")
    page.wait_for_selector("[name=s1-key-F]")
    note()
    page.select_option("[name=s1-key-F]", "length")
    page.click("text=Check every row")
    page.wait_for_selector("text=the sizes in the names fit mm")
    note()
    page.click("text=Check every row")
    page.wait_for_selector(REPORT)
    page.click("summary:has-text('What was decided')")
    note()
    for way in ("Nearly alike", "Changed"):
        page.click(f".tabs a:has-text('{way}')")
        said[-1] += page.inner_text("main")
    page.click(".tabs a:has-text('Need you')")
    page.fill("[name=now-0-83-F]", "145")
    page.click("text=Correct and check again")
    page.wait_for_selector("#said >> text=1 cell was corrected")
    page.wait_for_selector(REPORT)
    page.click("summary >> text=Corrected on this page")
    note()
    page.click("text=Apply new and changed")
    page.wait_for_selector("text=Read in:")
    note()
    page.click("text=History of this spreadsheet")
    page.wait_for_selector("text=Every change it made")
    note()
    page.click("text=Back to the spreadsheet")
    page.click("text=Take it back …")
    page.click("button:has-text('Take it back')")
    page.wait_for_selector("text=Taken back")
    note()
    return said


@pytest.mark.parametrize(
    ("step", "words"),
    [
        (0, "27 numbers have no unit"),
        (1, "13 numbers have no unit"),
        (2, "These rows are hidden in the spreadsheet; they were read: 20."),
        (2, "Same as HF-1021"),
        (2, "Mayo scissors, curved 170 mm → Mayo scissors, curved, reground"),
        (3, "Master list F83 Reach\t-145\t145\tBea Hartsop"),
        (4, "3 added, 1 changed"),
        (5, "HF-7001 Scissors Mayo, straigt 170 mm"),
        (6, "Taken back"),
    ],
)
def test_the_way_of_a_spreadsheet(walked: Walk, step: int, words: str) -> None:
    assert words in walked[1][step]


def test_after_taking_back_the_old_name_is_found(walked: Walk, own_site: sites.Site) -> None:
    page, _ = walked
    page.goto(f"{own_site.address}/instruments/?q=HF-1028")
    assert "Mayo scissors, curved 170 mm" in page.inner_text("main")


@pytest.fixture(scope="module")
def three(walked: Walk, own_site: sites.Site, worse: Path) -> Page:
    """Beside the first, one spreadsheet whose columns are asked for, and one that is checked."""
    page, _ = walked
    for is_checked in (False, True):
        page.goto(f"{own_site.address}/spreadsheets/")
        page.set_input_files("[name=file]", str(worse))
        page.click("text=Upload")
        page.wait_for_selector("[name=s1-key-F]")
        if is_checked:
            page.click("text=Check every row")
            page.wait_for_selector(REPORT)
    return page


@pytest.mark.parametrize(
    "path",
    [
        "",
        "columns/",
        "1/",
        "1/changes/",
        "2/columns/",
        "3/",
        "3/?verdict=all",
        "3/correct/",
        "3/apply/",
    ],
)
def test_the_pages_are_accessible(three: Page, own_site: sites.Site, path: str) -> None:
    three.goto(f"{own_site.address}/spreadsheets/{path}")
    assert violations(three) == []


def test_another_number_is_taken_and_a_name_kept_without_leaving_the_page(
    three: Page, own_site: sites.Site
) -> None:
    report = f"{own_site.address}/spreadsheets/3/"
    for way, button, then in (
        ("same", "Renumber: HF-1035 becomes HF-7002", "No, it is a new one"),
        ("changed", "Keep it: HF-1028 name", "Take the list's: HF-1028 name"),
    ):
        three.goto(f"{report}?verdict={way}")
        three.evaluate("window.isTheSamePage = true")
        three.locator("button", has_text=button).click()
        three.locator("button", has_text=then).wait_for()
        assert three.evaluate("window.isTheSamePage")
    three.click("text=Apply new and changed")
    three.wait_for_selector("text=1 renumbered")
    for number, name in (("HF-1035", "HF-7002"), ("HF-1028", "Mayo scissors, curved 170 mm")):
        three.goto(f"{own_site.address}/find/?q={number}")
        assert name in three.inner_text("main")
