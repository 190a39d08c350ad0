"""People at work over HTTP, each in a thread: what they pressed and what the server confirmed.

They do as the pages' scripts do: what was not answered, or answered with an error, is sent again
with the same key until it is.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from itertools import count
from random import Random
from threading import Event, Thread

from tests.forms import Read
from tests.served.browser import Answer, Browser

AGAIN_S = 0.5
OURS = " key "
"""Part of every key that is sent by these people."""
PART = {"HX-Request": "true"}
Fields = list[tuple[str, str]]
LEADS = {"begin": "/builds/", "sign": "/packages/", "give up": "/bench/", "ask": "/requests/",
         "withdraw": "/requests/"}  # fmt: skip
"""Where a press leads that was done; what was refused leads elsewhere, or back."""


@dataclass(frozen=True, slots=True)
class Press:
    """``what`` was pressed with a key, of ``row``; how the server answered in the end, and how
    often it had to be sent. ``confirmed`` by a positive answer."""

    what: str
    key: str
    row: int
    answer: Answer
    sends: int
    errors: tuple[int, ...] = ()

    @property
    def confirmed(self) -> bool:
        """Said to be done: on a part of a page by its words, else by where it leads."""
        if self.what in LEADS:
            return self.answer.status == 302 and self.answer.location.startswith(LEADS[self.what])
        return self.answer.status == 200 and self.answer.tone in ("right", "note")


@dataclass(eq=False)
class Person(Thread):
    """Somebody who goes on until ``over``, with ``pause_s`` between two presses."""

    browser: Browser
    over: Event
    pause_s: float
    called: str
    presses: list[Press] = field(default_factory=list)
    asked: list[tuple[str, Answer]] = field(default_factory=list)
    """What was only looked at, by its kind."""

    def __post_init__(self) -> None:
        super().__init__(daemon=True)
        self._keys, self.chance = count(1), Random(self.called)

    def run(self) -> None:
        """One turn after the other, each at its own pace."""
        self.over.wait(self.chance.random() * self.pause_s)
        while not self.over.is_set():
            self.turn()
            self.over.wait(self.pause_s * (0.5 + self.chance.random()))

    def turn(self) -> None:
        raise NotImplementedError

    def look(self, kind: str, path: str, **headers: str) -> Answer:
        answer = self.browser.get(path, **headers)
        self.asked.append((kind, answer))
        return answer

    def key(self) -> str:
        return f"{self.called}{OURS}{next(self._keys):06d}"

    def press(self, what: str, path: str, fields: Fields, row: int = 0, *, twice: bool = False,
              **headers: str) -> Answer:  # fmt: skip
        """Sent until it is answered, also when the day is over: at most a minute then."""
        key, sends, errors = self.key(), 0, list[int]()
        while True:
            answer = self.browser.post(path, [*fields, ("key", key)], **headers)
            sends += 1
            if 200 <= answer.status < 500:
                break
            errors.append(answer.status)
            if self.over.is_set() and sends > 120:
                break
            Event().wait(AGAIN_S)
        self.presses.append(Press(what, key, row, answer, sends, tuple(errors)))
        if twice:
            again = self.browser.post(path, [*fields, ("key", key)], **headers)
            self.asked.append(("pressed twice", again))
        return answer


@dataclass(eq=False)
class Bench(Person):
    """Counts the ``pieces`` of the set ``code`` by scan, one after the other; then packs and signs
    it, or gives it up where it does not ``sign``, and begins it anew."""

    code: str = ""
    pieces: tuple[str, ...] = ()
    signs: bool = False
    build: int = 0
    counted: int = 0

    def turn(self) -> None:
        """One press, and what the page's script asks beside it."""
        if not self.build:
            self._begin()
        elif self.counted == len(self.pieces):
            self._end()
        else:
            self._count(self.pieces[self.counted])
            self.look("poll of a set", f"/builds/{self.build}/now/?seen=0", **PART)

    def _begin(self) -> None:
        answer = self.press("begin", f"/sets/{self.code}/build/", [])
        self.build, self.counted = (
            int((re.findall(r"/builds/(\d+)/", answer.location) or [0])[0]),
            0,
        )

    def _count(self, piece: str) -> None:
        path, twice = f"/builds/{self.build}/scan/", self.chance.random() < 0.1
        answer = self.press("count", path, [("words", piece)], self.build, twice=twice, **PART)
        self.counted += 1
        if answer.tone == "wrong":
            self.build = 0

    def _end(self) -> None:
        if self.signs and not self._sign():
            return
        if not self.signs:
            self.press("give up", f"/builds/{self.build}/give-up/", [("reason", "the day is over")],
                       self.build)  # fmt: skip
        self.build = 0

    def _sign(self) -> bool:
        """Whether the page could be read: its checks answered yes, then packed and signed."""
        path = f"/builds/{self.build}/pack/"
        page = self.look("page to pack", path)
        forms = [form for form in Read(path, page.text).forms if ("act", "pack") in form.values]
        if not forms:
            return False
        kept = [(name, value) for name, value in forms[0].values
                if name in ("act", "take", "asked")]  # fmt: skip
        yes = [(f"check:{value}", "yes") for name, value in kept if name == "asked"]
        self.press("sign", path, kept + yes, self.build)
        return True


@dataclass(eq=False)
class Liaison(Person):
    """Asks for an instrument, looks at the list, withdraws every third."""

    item: str = ""

    def turn(self) -> None:
        """What is asked, and the list as its script asks for it."""
        wanted = [
            ("item", self.item),
            ("department", "Main ORs"),
            ("where", "OR 3"),
            ("when", "60"),
        ]
        answer = self.press("ask", "/requests/ask/", wanted)
        found = re.findall(r"/requests/(\d+)/", answer.location)
        if found and self.chance.random() < 0.3:
            reason = [("act", "withdraw"), ("reason", "it was found")]
            self.press("withdraw", f"/requests/{found[0]}/act/", reason, int(found[0]))
        self.look("poll of the list", "/requests/now/?seen=0", **PART)


@dataclass(eq=False)
class Probe(Person):
    """Asks for a page with nothing on it: what a request costs at the least."""

    def turn(self) -> None:
        """That page alone."""
        self.look("bare page", "/bare/")
