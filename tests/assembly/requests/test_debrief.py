"""Why a set came up short, as far as it is on record."""

from __future__ import annotations

import pytest
from django.test import Client

from assembly.requests import asking, working
from assembly.requests.asking import Wanted
from assembly.requests.debrief import why_short
from tests.factories import bench as at
from tests.factories import requests as ask

pytestmark = pytest.mark.django_db


def test_what_was_packed_short_says_so() -> None:
    package = ask.short_set("TS-1")
    assert package.build is not None
    one = package.build.lines.first()
    wanted = Wanted(one.instrument, missing_from=package.build.instrument_set, package=package)
    words = why_short(asking.ask(ask.liaison(), wanted, ask.ask_for(), at.key()))
    assert words[0].startswith(f"{package.code} was packed by")
    assert "said so on its label: MISSING 1 " in words[0]


def test_a_package_that_goes_without_says_it_on_its_requests_page(liaison_client: Client) -> None:
    package = ask.short_set("TS-1")
    assert package.build is not None
    wanted = Wanted(instrument_set=package.build.instrument_set)
    request = asking.ask(ask.liaison(), wanted, ask.ask_for(), at.key())
    working.take(at.person(), request.pk, at.key())
    working.tie(at.person(), request.pk, package)
    page = liaison_client.get(f"/requests/{request.pk}/").content.decode()
    assert f"MISSING 1 {package.build.lines.first().name} (0 of 1 in the set)" in page


def test_what_was_counted_in_is_told_with_its_number() -> None:
    package = ask.short_set("TS-1")
    assert package.build is not None
    one = package.build.lines.last()
    wanted = Wanted(one.instrument, missing_from=package.build.instrument_set, package=package)
    words = why_short(asking.ask(ask.liaison(), wanted, ask.ask_for(), at.key()))
    assert "2 were counted in. Where it went since then is not on record." in words[0]


def test_without_the_package_it_says_what_it_does_not_know() -> None:
    whole = at.a_set("TS-1", (1,))
    assert whole.current is not None
    wanted = Wanted(whole.current.lines.get().instrument, missing_from=whole)
    request = asking.ask(ask.liaison(), wanted, ask.ask_for(), at.key())
    assert "Which package was opened is not on record" in why_short(request)[0]


def test_the_liaison_reads_it(liaison_client: Client) -> None:
    whole = at.a_set("TS-1", (1,))
    assert whole.current is not None
    wanted = Wanted(whole.current.lines.get().instrument, missing_from=whole)
    request = asking.ask(ask.liaison(), wanted, ask.ask_for(), at.key())
    assert 'id="why-short"' in liaison_client.get(f"/requests/{request.pk}/").content.decode()
    assert liaison_client.get("/requests/causes/").status_code == 200
