"""The bench in a real browser: by scanner, by touch, refused, short, handed over, crashed."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page

from tests.browser import site as sites
from tests.browser.screens import Screens
from tests.browser.site import Site
from tests.browser.soon import expect
from tests.browser.steps import bench as do
from tests.browser.steps import rows
from tests.browser.steps.looking import runs_out
from tests.machine import free_port

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser-bench")]
TARGET, MAIN = 44, 60


@pytest.fixture(scope="module")
def site(bench_site: Site) -> Site:
    return bench_site


@pytest.fixture
def building(site: Site, page: Page) -> str:
    """Signed in, with a new build on the screen; its address."""
    site.sign_in(page, "technician")
    return do.begin(site, page, rows.CODE)


def in_rounds(lines: list[tuple[str, int]]) -> list[str]:
    """Every piece of every line, never the same code twice in a row."""
    return [number for turn in range(2) for number, pieces in lines if pieces > turn]


def test_a_whole_set_by_scanner_alone(page: Page, building: str) -> None:
    """With the flash of every answer, which the other tests are spared."""
    page.emulate_media(reduced_motion="no-preference")
    codes = in_rounds(rows.WANTED)
    for count, code in enumerate(codes, start=1):
        do.scan(page, code)
        do.pieces_in(page, count)
    assert do.sign(page).startswith("PK-")


def test_scans_faster_than_the_server_are_all_counted(page: Page, building: str) -> None:
    for code in ("BT-01", "BT-02", "BT-03", "BT-04", "BT-05"):
        do.scan(page, code)
    do.pieces_in(page, 5)


def test_one_code_read_twice_in_a_moment_is_counted_once(page: Page, building: str) -> None:
    page.evaluate("Date.now = () => 1e12")  # a busy machine is slow, the scanner is not
    for _ in range(2):
        do.scan(page, "BT-01")
    do.said(page, "That came twice")
    do.pieces_in(page, 1)


def test_a_double_click_counts_once(page: Page, building: str) -> None:
    page.locator("[id^=one-]").first.dblclick()
    do.scan(page, "BT-02")
    do.pieces_in(page, 2)


def test_a_wrong_instrument_is_refused_with_what_it_belongs_to(page: Page, building: str) -> None:
    do.scan(page, "HF-1021")
    do.said(page, "It belongs to HF-S01")
    do.pieces_in(page, 0)


def test_a_substitute_is_offered_by_its_scan_and_taken_with_enter(
    page: Page, building: str
) -> None:
    do.scan(page, rows.SUBSTITUTE)
    do.said(page, "Bench forceps no. 1 is 2 short. BT-90 Spare forceps may stand in: use it?")
    do.pieces_in(page, 0)
    do.accept(page)
    do.said(page, "1 of them a substitute: BT-90 Spare forceps")
    do.pieces_in(page, 1)


def test_letters_mark_a_line_and_enter_counts_it(page: Page, building: str) -> None:
    do.write(page, "no. 10")
    do.said(page, "Bench forceps no. 10: 0 of 1 in.")
    do.pieces_in(page, 0)
    do.accept(page)
    do.pieces_in(page, 1)


def test_of_several_lines_that_fit_one_is_chosen_with_the_arrows(page: Page, building: str) -> None:
    do.write(page, "forceps no. 1")
    do.said(page, "fits 2 lines. Which one?")
    page.keyboard.press("ArrowDown")
    do.accept(page)
    expect(page.locator("#now h2")).to_have_text("1 × Bench forceps no. 10")
    do.pieces_in(page, 0)


def test_a_scanner_that_ends_with_two_enters_accepts_nothing(page: Page, building: str) -> None:
    page.evaluate("window.setTimeout = () => 0")  # no time goes by between the two
    do.scan(page, rows.SUBSTITUTE)
    do.said(page, "use it?")
    page.keyboard.press("Enter")
    do.scan(page, "BT-02")
    do.pieces_in(page, 1)
    do.said(page, "Bench forceps no. 2")


def test_so_many_pieces_typed_count_the_line_that_is_shown(page: Page, building: str) -> None:
    page.keyboard.press("ArrowDown")
    expect(page.locator("#now h2")).to_have_text("1 × Bench forceps no. 2")
    page.keyboard.press("ArrowDown")
    expect(page.locator("#now h2")).to_have_text("2 × Bench forceps no. 3")
    do.write(page, "2")
    do.pieces_in(page, 2)
    do.said(page, "Bench forceps no. 3: 2 of 2 in")


@pytest.mark.parametrize("width", [1280, 390, 320])
def test_the_answer_is_in_view_after_every_scan(page: Page, building: str, width: int) -> None:
    """Also of a wrong one at the eighth of ten lines, where it once lay behind the field."""
    page.set_viewport_size({"width": width, "height": 640})
    codes = [number for number, _ in rows.WANTED]
    for at, code in enumerate([*codes[:7], "HF-1021", *codes[7:]]):
        if at % 2:
            page.mouse.wheel(0, 300)
        else:
            page.evaluate("scrollTo(0, document.body.scrollHeight)")
        do.scan(page, code)
        do.said(page, "does not belong" if code == "HF-1021" else f"no. {at + 1 - (at > 7)}:")
        for part in ("#said .said", "#progress"):
            box = page.locator(part).first.bounding_box()
            assert box and box["y"] >= 0 and box["y"] + box["height"] <= 640, (code, part, box)
    assert page.locator("#said .wrong").count() == 0


def test_what_was_wrong_waits_for_the_next_answer(page: Page, building: str) -> None:
    with page.expect_response("**/now/**"):  # the page has asked what others did
        do.scan(page, "HF-1021")
    do.said(page, "does not belong in this set")
    with page.expect_response("**/now/**"):
        pass
    do.said(page, "does not belong in this set")
    do.scan(page, "BT-01")
    do.said(page, "Bench forceps no. 1: 1 of 2 in")
    expect(page.locator("#said .wrong")).to_have_count(0)


def test_a_damaged_piece_needs_a_reason(page: Page, building: str) -> None:
    page.keyboard.press("F4")
    page.get_by_role("button", name="To repair").click()
    do.said(page, "Say what is wrong with it")
    page.select_option("#why", "Bent or broken")
    page.get_by_role("button", name="To repair").click()
    do.said(page, "The damaged piece goes to repair")


def test_a_scan_is_taken_without_the_focus_outlives_a_reload_and_is_undone(
    page: Page, building: str
) -> None:
    page.evaluate("document.activeElement.blur()")
    do.scan(page, "BT-01")
    do.pieces_in(page, 1)
    page.reload()
    do.pieces_in(page, 1)
    expect(page.locator("#undo")).to_contain_text("Bench forceps no. 1")
    page.keyboard.press("F2")
    do.pieces_in(page, 0)


def test_a_set_goes_with_a_shortage_it_may_go_with(site: Site, page: Page) -> None:
    site.sign_in(page, "technician")
    do.begin(site, page, rows.SHORT)
    page.locator("[id^=all-]").first.click()
    expect(page.locator("[id^=all-]")).to_have_count(1)
    page.keyboard.press("F4")
    page.keyboard.press("Enter")
    do.sign(page)
    assert "MISSING 1 Bench forceps no. 10 (0 of 1" in page.inner_text("main").replace("\xa0", " ")


def test_a_set_over_its_rules_goes_by_a_coordinators_override_only(site: Site, page: Page) -> None:
    site.sign_in(page, "technician")
    do.begin(site, page, "HF-S03")
    while page.locator("[id^=all-]").count():
        left = page.locator("[id^=all-]").count()
        page.locator("[id^=all-]").first.click()
        expect(page.locator("[id^=all-]")).to_have_count(left - 1)
    page.click("#pack-it")
    page.wait_for_url("**/pack/**")
    if page.locator("ul.instead[aria-label=Cycles] a").count():
        page.locator("ul.instead[aria-label=Cycles] a").first.click()
        page.wait_for_url("**programme=**")
    for n in range(page.locator("input[name=accept]").count()):
        page.locator("input[name=accept]").nth(n).check()
        page.locator("input[name^=because]").nth(n).fill("maker's letter of 3 March")
    page.fill("#override-name", "coordinator")
    page.fill("#override-password", site.passwords["coordinator"])
    page.get_by_role("button", name="The pieces: all yes").click()
    page.get_by_role("button", name="Sign and print").click()
    page.wait_for_url("**/packages/**")
    assert ": ACCEPTED BY Bea Hartsop" in page.inner_text("main")


def test_a_set_on_two_screens_is_counted_asked_for_passed_on_and_taken_over(
    site: Site, page: Page, building: str, screens: Screens
) -> None:
    """Each sees what the other does."""
    with do.another(screens, site, "second") as other:
        other.goto(building)
        expect(other.locator(".holder")).to_contain_text("Tam Birkett holds this set")
        do.scan(page, "BT-01")
        do.pieces_in(other, 1)
        other.get_by_role("button", name="Ask for it").click()
        page.get_by_role("button", name="Pass it on").click()
        expect(other.locator("#scan")).to_be_visible()
        expect(page.locator(".holder")).to_contain_text("Ida Crow holds this set")
        page.get_by_role("button", name="Take it over").click()
        expect(page.locator("#scan")).to_be_visible()
        expect(other.locator(".holder")).to_contain_text("Tam Birkett holds this set")


def small(page: Page, selector: str, least: float) -> list[str]:
    """The visible targets that are lower or narrower than ``least`` px."""
    found = []
    for one in page.locator(selector).all():
        box = one.bounding_box()
        if box and box["width"] and (box["height"] < least or box["width"] < TARGET):
            found.append(f"{one.inner_text()[:30]} {box['width']:.0f} x {box['height']:.0f}")
    return found


@pytest.fixture
def touched(site: Site, screens: Screens) -> Iterator[Page]:
    """A phone: 390 px wide, touch only, with a new build on it."""
    with do.another(
        screens, site, "technician", {"width": 390, "height": 844}, has_touch=True, is_mobile=True
    ) as page:  # fmt: skip
        do.begin(site, page, rows.CODE)
        yield page


def test_on_a_small_screen_what_counts_is_60_px_all_else_44_and_nothing_runs_out(
    touched: Page,
) -> None:
    everything = "main button, main a, main summary, main input[type=search]"
    assert {
        "lower than 60 px": small(touched, ".line-acts button", MAIN),
        "smaller than 44 px": small(touched, everything, TARGET),
        "px to scroll sideways": max(runs_out(touched), 0),
    } == {"lower than 60 px": [], "smaller than 44 px": [], "px to scroll sideways": 0}


def test_a_whole_set_by_touch(touched: Page) -> None:
    for left in range(9, -1, -1):
        touched.locator("[id^=all-]").first.tap()
        expect(touched.locator("[id^=all-]")).to_have_count(left)
    assert do.sign(touched).startswith("PK-")


def test_the_checks_are_60_px_on_a_small_screen(touched: Page) -> None:
    touched.goto(touched.url.split("/builds/")[0] + "/instruments/HF-1042/")
    assert small(touched, ".yes-no label, .single-acts .main-act", MAIN) == []


def test_without_a_script_a_set_is_counted_all_the_same(site: Site, screens: Screens) -> None:
    with do.another(screens, site, "technician", java_script_enabled=False) as page:
        do.begin(site, page, rows.CODE)
        page.fill("#scan", "BT-01")
        page.press("#scan", "Enter")
        do.pieces_in(page, 1)


def test_what_waits_belongs_to_its_person_and_is_sent_once_they_sign_in(
    site: Site, page: Page, building: str
) -> None:
    do.scan(page, "BT-01")
    do.pieces_in(page, 1)
    page.context.clear_cookies()
    do.scan(page, "BT-02")
    expect(page.locator("#waiting-sends")).to_contain_text("You are signed out. Not saved yet: 1")
    site.sign_in(page, "second")  # at the same computer, to the same page
    page.goto(building)
    do.pieces_in(page, 1)
    page.click("button[value=take]")
    expect(page.locator("button[value=take]")).to_have_count(0)
    page.context.clear_cookies()
    site.sign_in(page, "technician")
    page.goto(building)
    expect(page.locator("#waiting-sends")).to_contain_text("Not saved: 1 of yours")
    do.pieces_in(page, 1)
    page.click("button[value=take]")
    expect(page.locator("button[value=take]")).to_have_count(0)
    page.click("#waiting-sends button >> nth=0")
    do.pieces_in(page, 2)
    expect(page.locator("#waiting-sends")).to_be_hidden()


def test_a_server_killed_in_the_middle_loses_nothing(page: Page, tmp_path: Path) -> None:
    port = free_port()
    process, site = sites.started(tmp_path, port, added=rows.SCRIPT)
    try:
        site.sign_in(page, "technician")
        do.begin(site, page, rows.CODE)
        do.scan(page, "BT-01")
        do.pieces_in(page, 1)
        process.kill()
        sites.ended(process)
        do.scan(page, "BT-02")
        expect(page.locator("#waiting-sends")).to_contain_text("Not saved yet: 1")
        process, site = sites.started(tmp_path, port)
        do.pieces_in(page, 2)
    finally:
        process.kill()
        sites.ended(process)
