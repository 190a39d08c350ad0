"""Pages that belong to no app: errors, and the page of parts."""

from __future__ import annotations

import subprocess
import sys

import pytest
from django.template.loader import render_to_string
from django.test import Client, override_settings
from django.urls import path

from config.urls import urlpatterns as every_address
from tests.browser.site import ROOT

pytestmark = pytest.mark.django_db


def broken(request: object) -> None:
    raise ZeroDivisionError


urlpatterns = [*every_address, path("broken/", broken)]


@override_settings(ROOT_URLCONF=__name__)
def test_an_error_has_a_page_of_our_own(technician: Client) -> None:
    technician.raise_request_exception = False
    page = technician.get("/broken/")
    assert page.status_code == 500 and "Nothing was half-saved" in page.content.decode()


def test_what_is_not_allowed_has_a_page_of_our_own(technician: Client) -> None:
    page = technician.get("/records/")
    assert page.status_code == 403 and "This is not yours to open" in page.content.decode()


def test_a_form_that_is_too_old_has_a_page_of_our_own(technician: Client) -> None:
    strict = Client(enforce_csrf_checks=True)
    page = strict.post("/sign-in/", {"username": "x", "password": "y"})
    assert page.status_code == 403 and "open too long" in page.content.decode()


def test_the_page_of_an_error_needs_nothing() -> None:
    assert "Something failed" in render_to_string("500.html")


def test_a_department_has_no_page_of_parts() -> None:
    asked = "from config.settings import base; print(base.SHOW_PARTS)"
    run = subprocess.run(
        [sys.executable, "-c", asked], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert run.stdout.strip() == "False"
