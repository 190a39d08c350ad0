"""A real demo hospital on a free port, and a real browser to visit it with."""

from __future__ import annotations

import fcntl
import json
import os
import re
import secrets
import shutil
import subprocess
import sys
import tempfile
import threading
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from hashlib import sha256
from pathlib import Path

from playwright.sync_api import Browser, BrowserContext, Page, Playwright, sync_playwright

from tests import migrated
from tests.browser.steps.printing import count_dialogs
from tests.machine import chromium_path, free_port

filled_in: Path | None = None
"""A folder that all workers of a run of tests share: a demo is filled once for all."""
ROOT = Path(__file__).resolve().parent.parent.parent
START_LIMIT_S = 240  # a busy machine takes a minute to fill the demo
CHROMIUM_FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@dataclass(frozen=True, slots=True)
class Site:
    """Where the demo is served, with the passwords it printed."""

    address: str
    passwords: dict[str, str]

    def sign_in(self, page: Page, account: str, at: str | None = None) -> None:
        """A sign-in by one request, then the page ``at``: most tests need no page before theirs."""
        count_dialogs(page)
        token = self.token(page)
        self._keep(page, "sealer", "PS1")  # somebody named it before
        answer = page.context.request.post(
            f"{self.address}/sign-in/",
            form={"username": account, "password": self.passwords[account],
                  "csrfmiddlewaretoken": token},
            max_redirects=0,
        )  # fmt: skip
        assert answer.status == 302, answer.text()
        if at:
            page.goto(f"{self.address}{at}")

    def token(self, page: Page) -> str:
        """What lets the browser send forms that no page of ours has shown it."""
        token = secrets.token_hex(16)  # of the 32 letters that Django expects
        self._keep(page, "csrftoken", token)
        return token

    def _keep(self, page: Page, name: str, value: str) -> None:
        page.context.add_cookies([{"name": name, "value": value, "url": self.address}])

    def enter(self, page: Page, account: str) -> None:
        """Sign in as a person does, and stand on the first page; print dialogs are not counted."""
        page.goto(f"{self.address}/sign-in/")
        page.fill("[name=username]", account)
        page.fill("[name=password]", self.passwords[account])
        page.click("main button")
        page.wait_for_url(f"{self.address}/")
        # Somebody named the sealer that stands beside this workstation before.
        self._keep(page, "sealer", "PS1")


def environment(folder: Path) -> dict[str, str]:
    """The environment of a demo whose database lies in ``folder``."""
    env = {**os.environ, "DATABASE_URL": f"sqlite:///{folder / 'demo.sqlite3'}"}
    env |= {"MEDIA_ROOT": str(folder / "media"), "PRINT_FOLDER": str(folder / "print-runs")}
    env["ATTEMPTS_FILE"] = str(folder / "attempts.json")
    env["DJANGO_SETTINGS_MODULE"] = "tests.browser.settings"
    env["PYTHONUNBUFFERED"] = "1"
    return env


@cache
def _own_folder() -> tempfile.TemporaryDirectory[str]:
    """Where demos are filled when no run of tests says where; deleted at the end."""
    return tempfile.TemporaryDirectory(prefix="packbench-demo-")


def _filled(day: bool, added: str) -> Path:
    """A folder with the demo as the command fills it, and with the rows that a script adds: made
    once by the first that needs it."""
    place = filled_in or Path(_own_folder().name)
    more = f"-{sha256(added.encode()).hexdigest()[:8]}" if added else ""
    folder = place / f"filled{'-with-a-day' * day}{more}"
    with (place / f"{folder.name}.lock").open("w") as turn:
        fcntl.flock(turn, fcntl.LOCK_EX)
        if not folder.exists():
            new = folder.with_suffix(".new")
            if added:
                shutil.copytree(_filled(day, ""), new)
                _manage(new, "shell", "-v", "0", "-c", added)
            else:
                new.mkdir()
                shutil.copy(migrated.file(), new / "demo.sqlite3")
                _manage(new, "demo", "--no-serve", *([] if day else ["--no-day"]))
            new.rename(folder)
    return folder


def _manage(folder: Path, *command: str) -> None:
    """A command of ``manage.py`` on the demo in ``folder``."""
    subprocess.run(
        [sys.executable, "manage.py", *command],
        cwd=ROOT,
        env=environment(folder),
        check=True,
        stdout=subprocess.PIPE,
    )


@contextmanager
def served(folder: Path, *, day: bool = False, added: str = "") -> Iterator[Site]:
    """``manage.py demo`` on the database in ``folder``, with a day in progress or no work begun,
    and with what a script adds to it."""
    process, site = started(folder, free_port(), day=day, added=added)
    try:
        yield site
    finally:
        process.terminate()
        ended(process)


def ended(process: subprocess.Popen[str]) -> None:
    """Waits for a server that was told to stop."""
    process.wait(timeout=20)
    if process.stdout:
        process.stdout.close()


def started(
    folder: Path, port: int, *, day: bool = False, added: str = ""
) -> tuple[subprocess.Popen[str], Site]:
    """The server's process and where it serves; whoever starts it ends it.

    An empty folder gets a demo that was filled before: that takes the command its time.
    """
    if not (folder / "demo.sqlite3").exists():
        shutil.copytree(_filled(day, added), folder, dirs_exist_ok=True)
    process = subprocess.Popen(
        [sys.executable, "manage.py", "demo", "--port", str(port)],
        cwd=ROOT,
        env=environment(folder),
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    watchdog = threading.Timer(START_LIMIT_S, process.kill)
    watchdog.start()
    try:
        return process, _site(process, port)
    except BaseException:
        process.kill()
        raise
    finally:
        watchdog.cancel()


def _site(process: subprocess.Popen[str], port: int) -> Site:
    """Read what the command prints until it serves; its output is part of any failure."""
    said, passwords = "", {}
    assert process.stdout is not None
    for line in process.stdout:
        said += line
        if found := re.match(r"\s+(\w+)\s+password\s+(\S+)", line):
            passwords[found[1]] = found[2]
        if "Quit the server" in line or "CONTROL-C" in line:
            break
    else:
        raise RuntimeError(f"The demo did not start:\n{said}")
    threading.Thread(target=process.stdout.read, daemon=True).start()
    address = f"http://127.0.0.1:{port}"
    _wait_until_it_answers(address)
    return Site(address, passwords)


def _wait_until_it_answers(address: str) -> None:
    for _ in range(200):
        try:
            with urllib.request.urlopen(f"{address}/healthy/", timeout=2):
                return
        except OSError:
            threading.Event().wait(0.05)
    raise RuntimeError(f"{address} does not answer")


@contextmanager
def browser() -> Iterator[Browser]:
    """A browser where no other runs: a thread has one playwright."""
    with sync_playwright() as playwright, launched(playwright) as browser:
        yield browser


@contextmanager
def bench_browser(playwright: Playwright, folder: Path) -> Iterator[BrowserContext]:
    """One as README sets up a bench: it prints without a dialog, here to files in ``folder``."""
    chosen = {"version": 2, "recentDestinations": [{"id": "Save as PDF", "origin": "local"}]}
    kept = {
        "savefile": {"default_directory": str(folder)},
        "printing": {"print_preview_sticky_settings": {"appState": json.dumps(chosen)}},
    }
    profile = folder / "profile"
    (profile / "Default").mkdir(parents=True)
    (profile / "Default" / "Preferences").write_text(json.dumps(kept))
    # Without a screen, and yet with the print preview that a headless one lacks.
    flags = [*CHROMIUM_FLAGS, "--ozone-platform=headless", "--kiosk-printing"]
    path = chromium_path(viewer=True)
    context = playwright.chromium.launch_persistent_context(
        profile, executable_path=path, args=flags, headless=False
    )
    yield context
    context.close()


@contextmanager
def launched(playwright: Playwright, *, viewer: bool = False) -> Iterator[Browser]:
    """One that shows PDFs where ``viewer``."""
    path = chromium_path(viewer=viewer)
    if path is None:
        raise RuntimeError("No chromium on this machine: apt-get install chromium")
    browser = playwright.chromium.launch(executable_path=path, args=CHROMIUM_FLAGS)
    yield browser
    browser.close()
