"""Each person's day, begun at their own first page in the demo with its day: actions counted."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Page

from tests.browser import site as sites
from tests.browser.screens import Screens
from tests.browser.site import Site
from tests.browser.soon import expect
from tests.browser.steps.asking import say_where
from tests.browser.steps.looking import runs_out

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("living")]
PHONE, DESK = {"width": 390, "height": 844}, {"width": 1280, "height": 800}
HEAD_PX = 72
"""One row: a target of 44 px with its space, and the line below it."""
ACCOUNTS = ("technician", "liaison", "coordinator")
MOST_WORDS = 250
WORDS = """() => {
  const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  let words = 0;
  for (let at = texts.nextNode(); at; at = texts.nextNode()) {
    const range = document.createRange();
    range.selectNodeContents(at);
    const seen = [...range.getClientRects()].some((one) =>
      one.width > 1 && one.height > 1 && one.top < innerHeight && one.bottom > 0);
    if (seen) words += at.textContent.split(/\\s+/).filter(Boolean).length;
  }
  return words;
}"""
"""The words on the first screen: those that need no scrolling."""
MOST_TABS = 25


@pytest.fixture(scope="module")
def living(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    """The demo with its day in progress."""
    with sites.served(tmp_path_factory.mktemp("living"), day=True) as site:
        yield site


class Person:
    """Somebody signed in, who counts what they do: a tap, a word typed, a key pressed."""

    def __init__(self, page: Page) -> None:
        self.page, self.actions = page, 0

    def tap(self, where: str) -> None:
        self.page.locator(where).first.click()
        self.actions += 1

    def type(self, field: str, words: str) -> None:
        self.page.fill(field, words)
        self.actions += 1


@pytest.fixture
def person(screens: Screens, living: Site, request: pytest.FixtureRequest) -> Iterator[Person]:
    """``param``: the account, the size of its screen, and whether it has scripts."""
    account, size, *script = request.param
    options = {"java_script_enabled": False} if script == [False] else {}
    with screens.one(size, **options) as page:
        living.sign_in(page, account, at="/")
        yield Person(page)


def someone(*who: object) -> pytest.MarkDecorator:
    return pytest.mark.parametrize("person", who, indirect=True)


@someone(("liaison", PHONE))
def test_the_liaison_lands_on_ask_and_asks_in_three_actions(person: Person) -> None:
    """Where it is for is known from the last time, and so is how soon."""
    page = person.page
    expect(page).to_have_title("Ask · Packbench")
    person.type("#scan", "long metz")
    person.tap(".pick a[href*='item=HF-1042']")
    person.tap("#ask-it")
    expect(page.locator(".how-it-stands")).to_contain_text("Routine")
    assert person.actions == 3
    page.goto(page.url.split("/requests")[0] + "/")
    expect(page.locator(".card", has_text="Metzenbaum scissors, curved 230 mm")).to_be_visible()


@someone(("technician", PHONE))
def test_whoever_never_asked_asks_in_five_actions(person: Person) -> None:
    """Place and time are tapped; the next request needs neither again."""
    page = person.page
    asking = page.url + "requests/ask/"
    page.goto(asking)
    person.actions += say_where(page)
    person.tap(".choice:has-text('In 2 hours')")
    person.type("#scan", "kelly")
    person.tap(".pick a[href*='item=HF-1126']")
    person.tap("#ask-it")
    expect(page.locator(".how-it-stands")).to_contain_text("Routine")
    assert person.actions == 5
    page.goto(asking)
    person.actions = 0
    person.type("#scan", "rongeur")
    person.tap(".pick a[href*='item=HF-1343']")
    person.tap("#ask-it")
    expect(page.locator(".how-it-stands")).to_contain_text("Routine")
    assert person.actions == 3


@someone(("liaison", PHONE, False))
def test_the_liaison_asks_without_scripts(person: Person) -> None:
    page = person.page
    page.click(".choice:has-text('In 2 hours')")
    person.type("#scan", "rongeur")
    page.keyboard.press("Enter")
    person.tap(".pick a[href*='item=HF-1343']")
    person.tap("#ask-it")
    expect(page.locator(".how-it-stands")).to_contain_text("Routine")


@someone(("coordinator", DESK))
def test_the_coordinator_lands_on_what_waits_and_settles_it_in_three_actions(
    person: Person,
) -> None:
    page = person.page
    expect(page).to_have_title("What waits for you · Packbench")
    person.tap("#proposals button[value=confirm]")
    expect(page.locator("#proposals")).to_have_count(0)
    person.type("#overrides [name=words]", "No: order a second basket.")
    person.tap("#overrides button[value=answer]")
    expect(page.locator("#overrides")).to_have_count(0)
    assert person.actions == 3
    page.goto(page.url.rstrip("/") + "/instruments/HF-2001/propose/")
    assert "Proposed, not confirmed" not in page.inner_text("main")


@someone(("technician", DESK))
def test_the_technician_sees_what_is_needed_first_and_goes_on_in_one_action(
    person: Person,
) -> None:
    page = person.page
    tones = page.locator(".wait").evaluate_all("all => all.map((one) => one.className.trim())")
    # What the tests above asked for stands between, by its time.
    assert tones[0] == "wait late" and "wait urgent" in tones
    person.tap(".go-on")
    page.wait_for_url("**/builds/*/")
    assert person.actions == 1


@someone(("technician", DESK))
def test_an_answer_is_put_away_with_one_action(person: Person) -> None:
    expect(person.page.locator("#waits")).to_contain_text("Bea Hartsop answers")
    person.tap("#waits button[value=close]")
    expect(person.page.locator("#waits")).not_to_contain_text("Bea Hartsop answers")


@someone(("technician", DESK))
def test_what_waits_renews_itself_and_the_focus_stays(person: Person) -> None:
    page = person.page
    page.locator(".wait button").first.focus()
    had = page.evaluate("document.activeElement.id")
    with page.expect_response("**/bench/now/"):
        page.evaluate("htmx.ajax('GET', '/bench/now/', '#waits')")
    expect(page.locator(".htmx-swapping, .htmx-settling")).to_have_count(0)
    assert page.evaluate("document.activeElement.id") == had != ""


@someone(("coordinator", DESK))
def test_the_keyboard_alone_reaches_the_first_press(person: Person) -> None:
    for _ in range(MOST_TABS):
        person.page.keyboard.press("Tab")
        if person.page.evaluate("document.activeElement.closest('main') !== null"):
            return
    raise AssertionError(f"{MOST_TABS} tabs do not reach the page")


@someone(*((who, DESK) for who in ACCOUNTS))
def test_a_first_page_says_little_and_fits_every_screen_and_so_does_how(
    person: Person, request: pytest.FixtureRequest
) -> None:
    page = person.page
    found = []
    for size in (DESK, PHONE):
        page.set_viewport_size(size)  # type: ignore[arg-type]
        head = page.locator("header.head").bounding_box()
        assert head is not None
        words = page.evaluate(WORDS)
        if head["height"] > HEAD_PX or words > MOST_WORDS:
            found.append((size, head["height"], words))
    page.set_viewport_size({"width": 320, "height": 640})
    beyond = [runs_out(page)]
    account = request.node.callspec.params["person"][0]
    page.goto(page.url.rstrip("/") + f"/how/{account}/")
    beyond.append(runs_out(page))
    assert found == [] and max(beyond) <= 0, beyond
