"""Papers in a real browser: previews, runs with progress and a stop, labels, lists, skills."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator

import openpyxl
import pypdfium2
import pytest
from playwright.sync_api import Page

from reports.drawing.stocks import Stock, stock
from tests.browser import site as sites
from tests.browser.site import Site
from tests.browser.soon import expect
from tests.browser.steps.looking import violations

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser-papers")]
LONG = "Long runs"
MANY = 150
COLD_MS = 120_000
"""How long a list may take that weighs every one of so many sets for the first time."""
SCRIPT = f"""
from catalog.models import *
instruments = list(Instrument.objects.filter(retired=False)[:30])
for number in range({MANY}):
    one = InstrumentSet.objects.create(
        code=f"LR-{{number:03d}}", name=f"Long run set {{number}}", service="{LONG}")
    sheet = CountSheet.objects.create(
        instrument_set=one, revision=1, state="current", approved_by="Bea Hartsop")
    Line.objects.bulk_create(
        Line(count_sheet=sheet, order=place, quantity=2, instrument=instrument)
        for place, instrument in enumerate(instruments, start=1))
"""


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    """A demo of our own, with a service of many sets."""
    with sites.served(tmp_path_factory.mktemp("papers"), added=SCRIPT) as site:
        yield site


@pytest.fixture
def technician(site: Site, page: Page) -> Page:
    site.sign_in(page, "technician")
    return page


def fetched(page: Page, address: str) -> bytes:
    """The PDF at an address."""
    answer = page.request.get(address)
    assert answer.headers["content-type"] == "application/pdf", answer.text()[:500]
    return answer.body()


def texts(pdf: bytes) -> list[str]:
    """The words of each page."""
    return [
        " ".join(page.get_textpage().get_text_range().split())
        for page in pypdfium2.PdfDocument(pdf)
    ]


def begin_run(site: Site, page: Page, codes: str = "", service: str = "") -> None:
    page.goto(f"{site.address}/papers/")
    page.fill("#r-codes", codes)
    page.select_option("#r-service", service)
    page.get_by_role("button", name="Print count sheets").click()
    page.wait_for_url("**/papers/runs/**")


def test_from_the_page_of_a_set_to_its_sheet(site: Site, technician: Page) -> None:
    technician.goto(f"{site.address}/sets/HF-S03/")
    technician.locator("summary", has_text="Print").click()
    technician.get_by_role("link", name="Other paper, or with photos").click()
    technician.wait_for_url("**/sets/HF-S03/count-sheet/")
    shown = technician.locator("#file").get_attribute("href")
    assert "Bone mallet 450 g" in texts(fetched(technician, f"{site.address}{shown}"))[0]


def test_what_is_chosen_on_the_preview_is_what_prints(site: Site, technician: Page) -> None:
    technician.goto(f"{site.address}/sets/HF-S03/count-sheet/")
    technician.select_option("#c-paper", "letter")
    technician.get_by_role("button", name="Show", exact=True).click()
    technician.wait_for_url("**paper=letter**")
    link = technician.get_by_role("link", name="Print", exact=True).get_attribute("href")
    width, _ = pypdfium2.PdfDocument(fetched(technician, f"{site.address}{link}"))[0].get_size()
    assert width == 612


def test_a_run_of_several_sets_ends_in_a_file_with_all_in_order(
    site: Site, technician: Page
) -> None:
    begin_run(site, technician, "HF-S03 hf-s01, HF-S02")
    expect(technician.locator("#run .lead")).to_contain_text("Printed: 3 count sheets.")
    link = technician.get_by_role("link", name="Print", exact=True).get_attribute("href")
    pages = texts(fetched(technician, f"{site.address}{link}"))
    firsts = [re.search(r"HF-S0\d", page) for page in pages[1:]]
    codes = [found[0] for found in firsts if found]
    assert list(dict.fromkeys(codes)) == ["HF-S03", "HF-S01", "HF-S02"]
    assert len(codes) == len(pages) - 1


def test_a_long_run_shows_how_far_it_is(site: Site, technician: Page) -> None:
    begin_run(site, technician, service=LONG)
    bar = technician.locator("#run progress")
    expect(bar).to_have_attribute("max", str(MANY))
    expect(bar).to_have_attribute("value", re.compile(r"^[1-9]"))
    technician.get_by_role("button", name="Stop").click()


def test_a_run_that_is_stopped_says_so_and_has_no_file(site: Site, technician: Page) -> None:
    begin_run(site, technician, service=LONG)
    technician.get_by_role("button", name="Stop").click()
    expect(technician.locator("#run .notice")).to_contain_text("Nothing was kept")
    answer = technician.request.get(f"{technician.url.removesuffix('stop/')}file/")
    assert answer.status == 404


def test_the_page_of_a_run_that_is_done_is_accessible(site: Site, technician: Page) -> None:
    begin_run(site, technician, "HF-S05")
    expect(technician.locator("#run .lead")).to_contain_text("Printed: 1 count sheet.")
    assert violations(technician) == []


def test_the_page_of_a_run_is_accessible_while_it_runs_and_stopped(
    site: Site, technician: Page
) -> None:
    begin_run(site, technician, service=LONG)
    running = violations(technician)
    technician.get_by_role("button", name="Stop").click()
    expect(technician.locator("#run .notice")).to_be_visible()
    assert {"running": running, "stopped": violations(technician)} == {"running": [], "stopped": []}


def test_labels_begin_at_the_first_free_position(site: Site, technician: Page) -> None:
    technician.goto(f"{site.address}/instruments/HF-1042/label/")
    technician.select_option("#c-stock", "a4-3x8")
    technician.get_by_role("button", name="Show", exact=True).click()
    technician.wait_for_url("**stock=a4-3x8**")
    technician.select_option("#c-start", "5")
    technician.fill("#t-copies", "2")
    technician.get_by_role("button", name="Show", exact=True).click()
    technician.wait_for_url("**start=5**")
    link = technician.get_by_role("link", name="Print", exact=True).get_attribute("href")
    page = pypdfium2.PdfDocument(fetched(technician, f"{site.address}{link}"))[0]
    assert filled_places(page, stock("a4-3x8")) == [5, 6]


def filled_places(page: pypdfium2.PdfPage, on: Stock) -> list[int]:
    """The places of a sheet, counted along the rows from 1, on which there is any ink."""
    dots = 2  # a mm
    image = page.render(scale=dots * 25.4 / 72, grayscale=True).to_pil()
    ink = image.point(lambda shade: 255 * (shade < 128))
    assert on.grid
    filled = []
    for place in range(on.grid.labels):
        left, top = on.grid.corner_mm(place)
        edges = (left, top, left + on.width_mm, top + on.height_mm)
        if ink.crop(tuple(int(edge * dots) for edge in edges)).getbbox():
            filled.append(place + 1)
    return filled


def test_a_list_is_had_as_page_text_and_workbook(site: Site, technician: Page) -> None:
    technician.goto(f"{site.address}/papers/")
    heavy = technician.get_by_role("link", name="Sets over or near the weight limit")
    heavy.click(no_wait_after=True)
    technician.locator("#list tbody tr").first.wait_for(timeout=COLD_MS)
    shown = technician.locator("#list tbody tr").all_inner_texts()
    codes = [row.split()[0] for row in shown]
    text = saved(technician, "Text (csv)").decode("utf-8-sig").splitlines()
    book = openpyxl.load_workbook(io.BytesIO(saved(technician, "Workbook (xlsx)")))
    in_text = [line.split(",")[0] for line in text]
    in_book = [str(row[0]) for row in book.worksheets[0].iter_rows(values_only=True)]
    assert "HF-S03" in codes
    assert set(codes) <= set(in_text) and set(codes) <= set(in_book)


def saved(page: Page, link: str) -> bytes:
    """The file behind a link, as a person saves it."""
    with page.expect_download() as download:
        page.get_by_role("link", name=link).click()
    return download.value.path().read_bytes()


def test_a_coordinator_puts_a_skills_check_on_record(site: Site, page: Page) -> None:
    site.sign_in(page, "coordinator")
    page.goto(f"{site.address}/papers/skills/wrap/")
    page.get_by_label("Trainee").fill("Ida Crow")
    page.get_by_label("Trainer").fill("Bea Hartsop")
    page.get_by_label("Observed on").fill("2026-03-06")
    page.get_by_label("How many were watched").fill("3")
    for step in page.locator("[name^=step-][value=seen]").all():
        step.check()
    page.get_by_role("radio", name="passed").check()
    page.get_by_role("button", name="Put on record").click()
    expect(page.locator("#said")).to_contain_text("On record: Ida Crow")
    expect(page.locator("#list")).to_contain_text("Ida Crow")
