"""How: a page a role, five steps, each with a small picture; linked from each first page."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.conf import settings
from django.contrib.staticfiles import finders
from django.test import Client

from assembly.first_pages import how
from catalog.data_files import DataError
from tests.conftest import user_in

LARGEST = 60_000
"""Bytes of a picture: five of them open at once on a telephone."""
STEPS = [(role, step) for role, page in how.pages().items() for step in page.steps]
FIRST = {"technician": "technician", "OR liaison": "liaison", "coordinator": "coordinator"}


def test_there_is_a_page_for_each_role() -> None:
    assert list(how.pages()) == list(FIRST.values())


@pytest.mark.parametrize(("role", "step"), STEPS, ids=lambda one: getattr(one, "picture", one))
def test_each_step_has_a_small_picture(role: str, step: how.Step) -> None:
    found = finders.find(step.picture)
    assert found and Path(found).stat().st_size < LARGEST


def test_no_picture_is_left_over() -> None:
    folder = Path(settings.BASE_DIR) / "config" / "static" / "how"
    assert {f"how/{one.name}" for one in folder.iterdir()} == {s.picture for _, s in STEPS}


def test_a_page_with_another_number_of_steps_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "how.toml"
    file.write_text('[technician]\ntitle = "How"\nheads = ["Scan"]\nwords = ["Scan it."]\n')
    monkeypatch.setattr(how, "FILE", file)
    with pytest.raises(DataError, match="needs 5 heads"):
        how.pages.__wrapped__()


@pytest.mark.django_db
@pytest.mark.parametrize("role", FIRST)
def test_the_first_page_leads_to_it(role: str, roles: None) -> None:
    client = Client()
    client.force_login(user_in(role))
    assert f'href="/how/{FIRST[role]}/"' in client.get("/").content.decode()


@pytest.mark.django_db
def test_there_is_none_for_anybody_else(technician: Client) -> None:
    assert technician.get("/how/surgeon/").status_code == 404
