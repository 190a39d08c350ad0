"""What came before a test's own part, by requests: its pages nobody needs to see drawn."""

from __future__ import annotations

import secrets
from urllib.parse import urlencode

from playwright.sync_api import Page

from tests.browser.site import Site
from tests.browser.steps.loads import cycle_in
from tests.forms import Read, Values


def pressed(page: Page, site: Site, at: str, to: str, **more: str) -> str:
    """Sends a form of the page ``at``, of those that go ``to`` the one that asks most, as it comes
    up, with every check answered yes and with ``more``; where that leads."""
    found = Read(at, page.context.request.get(f"{site.address}{at}").text()).forms
    form = max((one for one in found if one.action == to), key=lambda one: len(one.choices))
    checks = [(name, "yes") for name in form.choices if name.startswith("check:")]
    return _sent(page, site, to, [*form.values, *checks, *more.items()])


def sent(page: Page, site: Site, to: str) -> str:
    """A form that asks nothing; where that leads."""
    fields = [("csrfmiddlewaretoken", site.token(page)), ("key", secrets.token_hex(16))]
    return _sent(page, site, to, fields)


def _sent(page: Page, site: Site, to: str, values: Values) -> str:
    form = {"Content-Type": "application/x-www-form-urlencoded"}
    answer = page.context.request.post(
        f"{site.address}{to}", data=urlencode(values), headers=form, max_redirects=0
    )
    assert answer.status == 302, answer.text()
    return answer.headers["location"].partition("?")[0]


def packed(page: Page, site: Site, item: str) -> tuple[str, str]:
    """A single package of an instrument, recorded and sealed: its code, and a cycle that serves
    it, the first where several do."""
    at = f"/instruments/{item}/"
    package = pressed(page, site, at, at)
    pressed(page, site, package, f"{package}seal/", sealer="PS1")
    shown = page.context.request.get(f"{site.address}{package}").text()
    return package.split("/")[2], cycle_in(shown)
