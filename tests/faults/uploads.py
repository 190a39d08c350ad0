"""A file that comes half: the connection ends in the middle of it, or the server does."""

from __future__ import annotations

import socket
from pathlib import Path
from random import Random
from threading import Event

from catalog.models import Instrument, SpreadsheetBatch
from tests.factories import catalog as make
from tests.factories.pictures import picture
from tests.faults.places import Outcome, Place
from tests.forms import Read
from tests.served.browser import Browser
from tests.served.crew import session_of
from tests.served.held import Held
from tests.served.server import Server

LINE = "-----packbench"
LIST = b"Item #,Name,Length (mm)\n" + b"HF-1,Aldersyke forceps,140\n" * 120_000
"""Three megabytes: more than is kept in memory, so that a file lies on disk meanwhile."""


def half_uploads(place: Place, times: int) -> Outcome:
    """So many of each of two files come half, then one of each whole: that one alone is there."""
    chance, session = Random(16), session_of("coordinator", "coordinator 1")
    make.Instrument(item_number="N-1")
    wrong, uploads = list[str](), place.beside / "uploads"
    uploads.mkdir()
    with Server(place.url, place.beside, TMPDIR=str(uploads)) as server:
        browser = Browser(server.port, session)
        for path, name, data in (
            ("/spreadsheets/", "list.csv", LIST),
            ("/instruments/N-1/photo/", "photo.png", picture(900, 700)),
        ):
            body = _body(path, browser, name, data)
            for number in range(times):
                _sent(server.port, browser, path, body, chance.randrange(1, len(body) - 3))
                if number % 10 == 9:  # the server goes while it reads
                    server.end()
                    server.start()
            status = _sent(server.port, browser, path, body, len(body))
            if status != 302:
                wrong.append(f"{path}: the whole file was answered {status}")
        Event().wait(0.5)
    return Outcome(2 * times, Held(2, [], [], _half(place.beside / "media")), wrong=wrong)


def _half(media: Path) -> list[str]:
    found = []
    if (rows := SpreadsheetBatch.objects.count()) != 1:
        found.append(f"{rows} spreadsheets on record")
    if any(len(one.content) != len(LIST) for one in SpreadsheetBatch.objects.all()):
        found.append("a spreadsheet on record is not whole")
    files = [path for path in media.rglob("*") if path.is_file()]
    if len(files) != 1 or Instrument.objects.exclude(photo="").count() != 1:
        found.append(f"{len(files)} photographs on disk")
    return found


def _body(path: str, browser: Browser, name: str, data: bytes) -> bytes:
    """The form of the page as a browser sends it, with the file."""
    form = next(one for one in Read(path, browser.get(path).text).forms if one.files)
    head = b"".join(
        f'--{LINE}\r\nContent-Disposition: form-data; name="{key}"\r\n\r\n{value}\r\n'.encode()
        for key, value in form.values
    )
    return head + (
        f'--{LINE}\r\nContent-Disposition: form-data; name="{form.files[0]}"; filename="{name}"\r\n'
        f"Content-Type: application/octet-stream\r\n\r\n"
    ).encode() + data + f"\r\n--{LINE}--\r\n".encode()  # fmt: skip


def _sent(port: int, browser: Browser, path: str, body: bytes, much: int) -> int:
    """So many bytes of it, then the line is cut; else the status of the answer."""
    headers = browser.told(**{
        "Content-Type": f"multipart/form-data; boundary={LINE}", "Content-Length": str(len(body)),
        "Connection": "close",
    })  # fmt: skip
    told = "".join(f"{name}: {value}\r\n" for name, value in headers.items())
    with socket.create_connection(("127.0.0.1", port), timeout=60) as line:
        line.sendall(f"POST {path} HTTP/1.1\r\n{told}\r\n".encode() + body[:much])
        if much < len(body):
            return 0
        return int(line.recv(64).split()[1])
