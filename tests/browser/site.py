"""A real demo hospital on a free port, and a real browser to visit it with."""

from __future__ import annotations

import os
import re
import shutil
import socket
import subprocess
import sys
import threading
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from playwright.sync_api import Browser, Page, sync_playwright

ROOT = Path(__file__).resolve().parent.parent.parent
START_LIMIT_S = 60
CHROMIUM_FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


def chromium_path() -> str:
    """Debian's chromium; a clear end when there is none."""
    path = shutil.which("chromium") or shutil.which("chromium-browser")
    if path is None:
        raise RuntimeError("No chromium on this machine: apt-get install chromium")
    return path


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@dataclass(frozen=True, slots=True)
class Site:
    """Where the demo is served, with the passwords it printed."""

    address: str
    passwords: dict[str, str]

    def sign_in(self, page: Page, account: str) -> None:
        page.goto(f"{self.address}/sign-in/")
        page.fill("[name=username]", account)
        page.fill("[name=password]", self.passwords[account])
        page.click("main button")
        page.wait_for_url(f"{self.address}/")


def environment(folder: Path) -> dict[str, str]:
    """The environment of a demo whose database lies in ``folder``."""
    env = {**os.environ, "DATABASE_URL": f"sqlite:///{folder / 'demo.sqlite3'}"}
    env["DJANGO_SETTINGS_MODULE"] = "config.settings.development"
    env["PYTHONUNBUFFERED"] = "1"
    return env


@contextmanager
def served(folder: Path) -> Iterator[Site]:
    """``manage.py demo`` on a new database in ``folder``, as a person starts it."""
    port = free_port()
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
        site = _site(process, port)
        watchdog.cancel()  # It has started; how long it is visited is no concern of the limit.
        yield site
    finally:
        watchdog.cancel()
        process.terminate()
        process.wait(timeout=20)
        if process.stdout:
            process.stdout.close()


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
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium_path(), args=CHROMIUM_FLAGS)
        yield browser
        browser.close()
