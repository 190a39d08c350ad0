"""Two people signed in at once: what the liaison asks for arrives, and both see it happen."""

from __future__ import annotations

import io
from collections.abc import Iterator

import pytest
import zxingcpp
from PIL import Image
from playwright.sync_api import Browser, FilePayload, Page

from tests.browser.screens import Screens
from tests.browser.site import Site
from tests.browser.soon import expect
from tests.browser.steps import loads, single
from tests.browser.steps.asking import say_where
from tests.browser.steps.bench import another
from tests.browser.steps.looking import runs_out, violations

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser")]
PHONE = {"width": 390, "height": 844}


@pytest.fixture
def phone(screens: Screens, site: Site) -> Iterator[Page]:
    """A liaison's phone, signed in."""
    with screens.one(PHONE, has_touch=True) as page:
        site.sign_in(page, "liaison")
        yield page


class Counted:
    """A person's actions on a page: each tap and each word typed into a field is one."""

    def __init__(self, page: Page) -> None:
        self.page, self.actions = page, 0

    def type(self, field: str, words: str) -> None:
        self.page.fill(field, words)
        self.actions += 1

    def tap(self, where: str) -> None:
        self.page.locator(where).first.click()
        self.actions += 1


def ask(page: Page, site: Site, words: str, item: str) -> Counted:
    """Asks as a person does, from the asking page on; says how many actions it took."""
    page.goto(f"{site.address}/requests/ask/")
    person = Counted(page)
    person.actions += say_where(page)
    person.tap(".choice:has-text('In 30 min')")
    person.type("#scan", words)
    person.tap(f".pick a[href*='item={item}']")
    page.wait_for_selector("#ask-it")
    person.tap("#ask-it")
    page.wait_for_selector(".how-it-stands")
    return person


def test_from_the_request_to_the_hand_over_by_three_persons(
    site: Site, page: Page, phone: Page, screens: Screens
) -> None:
    """The liaison asks, a technician packs and starts the load, another person releases it, takes
    it there and hands it over; each page offers the step that is next."""
    site.sign_in(page, "technician", at="/")
    ask(phone, site, "long Metz", "HF-1042")
    stands = phone.locator(".how-it-stands .lead")
    expect(stands).to_contain_text("Asked")
    assert violations(phone) == []
    number = phone.url.rstrip("/").rpartition("/")[2]
    page.locator(f"[aria-label='Take request {number} and pack it']").click()
    page.wait_for_url(f"**/requests/{number}/pack/")
    expect(stands).to_contain_text("Being packed by Tam Birkett")
    code = single.pack(page)
    expect(stands).to_contain_text("Packed, waits for a load")
    method = loads.cycle_of(page)
    page.locator(".sterile .main-act").click()
    loads.begin(page, site, loads.sterilizer_for(method), method)
    loads.put_in(page, code)
    page.locator("button[value=start]").click()
    expect(stands).to_contain_text("In the sterilizer")
    with another(screens, site, "coordinator") as second:
        second.goto(f"{site.address}/requests/{number}/")
        second.locator("#request .sterile a").click()
        loads.release(second)
        expect(stands).to_contain_text("Released")
        second.get_by_role("link", name=f"request {number}").first.click()
        second.click("#send")
        expect(stands).to_contain_text("On the way")
        second.click("#hand-over")
        expect(stands).to_contain_text("Handed over")
    expect(phone.locator(".steps")).to_contain_text("Bea Hartsop")


def test_where_it_could_come_from_is_shown_before_asking(site: Site, phone: Page) -> None:
    phone.goto(f"{site.address}/requests/ask/?item=HF-1042")
    kinds = phone.locator(".source strong").all_inner_texts()
    assert kinds == ["Sterile single package", "Loose spare", "Complete set",
                     "Accepted substitute"]  # fmt: skip


def test_a_scanned_set_offers_its_lines(site: Site, phone: Page) -> None:
    phone.goto(f"{site.address}/requests/ask/")
    phone.fill("#scan", "HF-S02")
    expect(phone.locator(".pick a")).to_have_count(11)


READS_CODES = """
  globalThis.BarcodeDetector = class {
    static getSupportedFormats() { return Promise.resolve(["data_matrix"]); }
    detect() { return Promise.resolve([{ rawValue: "HF-S02", format: "data_matrix" }]); }
  };
  const canvas = document.createElement("canvas");
  setInterval(() => canvas.getContext("2d").fillRect(0, 0, Math.random() * 99, 9), 40);
  const getUserMedia = () => Promise.resolve(canvas.captureStream());
  Object.defineProperty(navigator, "mediaDevices", { value: { getUserMedia } });
"""
"""A browser as phones have it, whose camera sees the label of HF-S02."""


def test_the_camera_is_a_scanner_where_the_browser_reads_codes(site: Site, phone: Page) -> None:
    phone.add_init_script(READS_CODES)
    phone.goto(f"{site.address}/requests/ask/")
    expect(phone.locator("#photo-form")).to_be_hidden()
    phone.click("#camera")
    expect(phone.locator(".pick a")).to_have_count(11)
    assert "q=HF-S02" in phone.url


def test_else_a_photograph_is_read_with_what_the_page_said(site: Site, phone: Page) -> None:
    phone.goto(f"{site.address}/requests/ask/")
    expect(phone.locator("#camera")).to_be_hidden()
    phone.locator(".choice:has-text('In 30 min')").click()
    made = zxingcpp.create_barcode("HF-S02", zxingcpp.BarcodeFormat.DataMatrix)
    picture = io.BytesIO()
    Image.fromarray(zxingcpp.write_barcode_to_image(made, scale=8)).save(picture, "PNG")
    photo: FilePayload = {"name": "x.png", "mimeType": "image/png", "buffer": picture.getvalue()}
    phone.set_input_files("#photo-form [name=photo]", photo)
    expect(phone.locator(".pick a")).to_have_count(11)
    assert "when=30" in phone.url


def test_several_lines_of_a_set_are_asked_for_in_one_request(site: Site, phone: Page) -> None:
    """Three lines: the first tapped, the others ticked; their times are shown as they are."""
    phone.goto(f"{site.address}/requests/ask/?item=HF-1049&from=HF-S02")
    say_where(phone)
    phone.locator(".more-lines summary").click()
    for number in ("HF-1112", "HF-1175"):
        phone.locator(f"input[name=item][value={number}]").check(force=True)
    expect(phone.locator("#sources h3")).to_have_count(3)
    assert runs_out(phone) <= 0 and violations(phone) == []
    phone.click("#ask-it")
    expect(phone.locator("h2", has_text="Asked for together")).to_be_visible()
    assert runs_out(phone) <= 0 and violations(phone) == []


def test_a_request_asks_for_no_news_while_somebody_types_or_nobody_looks(
    site: Site, chromium: Browser
) -> None:
    phone = chromium.new_page(viewport=PHONE)  # of its own: a clock that was taken stays so
    site.sign_in(phone, "liaison")
    phone.clock.install()
    ask(phone, site, "long Metz", "HF-1042")
    news: list[str] = []
    phone.on("request", lambda sent: news.append(sent.url) if "/now/" in sent.url else None)
    with phone.expect_response("**/now/**"):
        phone.clock.run_for(5_000)
    reason = phone.locator("#withdraw-reason")
    reason.press_sequentially("not nee")
    news.clear()
    phone.clock.run_for(60_000)
    reason.press_sequentially("ded")
    assert (news, reason.input_value()) == ([], "not needed")
    reason.blur()
    with phone.expect_response("**/now/**"):
        phone.clock.run_for(5_000)
    unseen = "Object.defineProperty(document, 'hidden', {configurable: true, value: true})"
    phone.evaluate(unseen)
    news.clear()
    phone.clock.run_for(60_000)
    assert news == []
    phone.evaluate("delete document.hidden")
    with phone.expect_response("**/now/**"):
        phone.clock.run_for(5_000)
    phone.close()


def test_a_set_gets_its_pieces_back_in_part(site: Site, page: Page, phone: Page) -> None:
    phone.goto(f"{site.address}/requests/ask/?item=HF-1035&from=HF-S02")
    say_where(phone)
    phone.fill("[name=quantity-HF-1035]", "3")
    phone.click("#ask-it")
    phone.wait_for_selector(".how-it-stands")
    site.sign_in(page, "technician")
    page.goto(f"{site.address}/requests/back/HF-1035/")
    found = violations(page)
    page.fill("#back-1", "2")
    page.click("main form .main-act")
    expect(page.locator(".back-in")).to_contain_text("waits for 1 of 3")
    assert found == []
