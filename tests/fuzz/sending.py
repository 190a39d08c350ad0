"""Requests by the thousand, in this process: every address and every form in its turn.

What was sent least often is sent next, so that all are reached; what it holds is by chance, and
the same again for the same seed. Anything answered with 500 or more is kept, with what was sent.
"""

from __future__ import annotations

import sys
import time
import traceback
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from random import Random
from typing import Any
from urllib.parse import quote, quote_plus, urlencode, urlsplit

from django.contrib.auth.models import Group, User
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.signals import got_request_exception
from django.test import Client
from django.urls import Resolver404, resolve

from config.roles import ROLES
from tests.addresses import ADDRESSES, concrete
from tests.factories.bench import key
from tests.forms import Form, Read, Values
from tests.fuzz import values

PEOPLE = ("coordinator",) * 5 + ("technician",) * 3 + ("OR liaison",) * 2 + ("nobody", "stranger")
"""Who sends, as often as they stand here: a coordinator reaches most."""
HEADERS: tuple[dict[str, str], ...] = (
    {}, {}, {}, {"HX-Request": "true"}, {"HX-Request": "true", "HX-Target": "\x1d"},
    {"X-Printing": "1"}, {"Referer": "https://elsewhere.example/x"}, {"Referer": "/shelf/?a=%00"},
    {"Accept-Language": "ar-\xd9\xa1"}, {"HX-Current-URL": "http://testserver/%ff?a=b"},
)  # fmt: skip
COOKIES = ("sealer", "workstation", "stock", "paper", "first", "department", "sessionid")


@dataclass(frozen=True, slots=True)
class Breach:
    """A request that was answered with an error of ours."""

    who: str
    sent: str
    status: int
    trace: str


@dataclass
class Fuzz:
    """One run: ``rows`` says what stands in an address, as of ``factories.hospital``."""

    rows: dict[str, str]
    seed: int
    breaches: list[Breach] = field(default_factory=list)
    statuses: Counter[int] = field(default_factory=Counter)
    times: Counter[str] = field(default_factory=Counter)
    """How often each address and each form was sent."""
    slowest: tuple[float, str] = (0.0, "")

    def __post_init__(self) -> None:
        self.chance = Random(self.seed)
        self.forms: dict[str, Form] = {}
        self.links: dict[str, str] = {}
        self.known: list[str] = []
        self.raised: list[str] = []
        self.turns: dict[str, Callable[[str], None]] = {}
        for path, address in ADDRESSES.items():
            for asked in ("", *address.also):
                self.turns[f"GET {path}{asked}"] = self._open
            self.turns[f"GET {path} with anything"] = self._open_anything
            self.turns[f"POST {path} with anything"] = self._send_anything

    def run(self, requests: int) -> None:
        """So many requests; an exception that a view raised is an answer of 500."""
        got_request_exception.connect(self._raised)
        try:
            for _ in range(requests):
                least = min(self.times[turn] for turn in self.turns)
                turn = self.chance.choice([one for one in self.turns if self.times[one] == least])
                self.times[turn] += 1
                self.turns[turn](turn)
        finally:
            got_request_exception.disconnect(self._raised)

    def _raised(self, **_: Any) -> None:
        self.raised.append("".join(traceback.format_exception(sys.exception())[-6:]))

    # --- each kind of turn ---------------------------------------------------------------------

    def _open(self, turn: str) -> None:
        self._ask("GET", concrete(turn.removeprefix("GET "), self.rows))

    def _open_anything(self, turn: str) -> None:
        path = turn.removeprefix("GET ").removesuffix(" with anything")
        asked = [(self.chance.choice([*self._names(), "q", "page", "sort", "as"]), self._value())
                 for _ in range(self.chance.randrange(4))]  # fmt: skip
        self._ask("GET", f"{self._somewhere(path)}?{_encoded(asked)}")

    def _send_anything(self, turn: str) -> None:
        path = turn.removeprefix("POST ").removesuffix(" with anything")
        sent = [(name, self._value()) for name in self._names()]
        self._ask("POST", self._somewhere(path), sent)

    def _send_form(self, turn: str) -> None:
        form = self.forms[turn]
        name, value, action = form.buttons[0]
        sent = [*form.values, *((name, self.chance.choice(all_)) for name, all_ in
                                form.choices.items()), (name, value)]  # fmt: skip
        much = self.chance.choice((0.0, 0.0, 0.15, 0.5, 1.0))
        sent = [self._typed(name, value, much) for name, value in sent if name]
        if much and self.chance.random() < 0.2 and sent:
            sent.pop(self.chance.randrange(len(sent)))
        if form.method.casefold() == "get":
            self._ask("GET", f"{action.partition('?')[0]}?{_encoded(sent)}")
        else:
            self._ask("POST", action, sent, form.files)

    def _follow(self, turn: str) -> None:
        path, _, asked = self.links[turn].partition("?")
        pairs = [one.partition("=") for one in asked.split("&")] if asked else []
        changed = [(name, self._value() if self.chance.random() < 0.5 else value)
                   for name, _, value in pairs]  # fmt: skip
        self._ask("GET", f"{path}?{_encoded(changed)}")

    # --- what is sent ----------------------------------------------------------------------------

    def _names(self) -> list[str]:
        """Of some form, so that a field is read with what another one expects."""
        if not self.forms:
            return ["q", "key", "act", "reason"]
        form = self.chance.choice(list(self.forms.values()))
        return list(
            {name: 1 for name, _ in form.values} | dict.fromkeys(form.choices, 1) | {"act": 1}
        )

    def _value(self) -> str:
        return values.value(self.chance, self.known)

    def _typed(self, name: str, value: str, much: float) -> tuple[str, str]:
        if self.chance.random() < much:
            return name, self._value()
        if name == "key":
            return name, key()
        return name, value or self.chance.choice((*values.LIKELY, ""))

    def _somewhere(self, path: str) -> str:
        """The address with what is there, or with anything, in each of its parts."""
        rows = self.rows if self.chance.random() < 0.6 else {}
        made = concrete(path, rows)
        while "<" in made:
            before, _, rest = made.partition("<")
            kind, _, after = rest.partition(">")
            number = kind.startswith("int:") and self.chance.random() < 0.9
            text = (
                str(self.chance.choice((1, 0, 2**31, 2**63, 10**30))) if number else self._value()
            )
            made = before + quote(text, safe="", errors="surrogatepass") + after
        return made

    def _ask(
        self, method: str, address: str, sent: Values | None = None, files: list[str] | None = None
    ) -> None:
        who = self.chance.choice(PEOPLE)
        client, told = self._client(who), f"{method} {address[:400]}"
        more: dict[str, Any] = {"headers": self.chance.choice(HEADERS)}
        if files:
            data: dict[str, Any] = {}
            for name, text in sent or ():
                data.setdefault(name, []).append(text.encode(errors="replace").decode())
            named = [(name, *values.file(self.chance)) for name in files]
            data |= {name: SimpleUploadedFile(called, held) for name, called, held in named}
            call = lambda: client.post(address, data, **more)  # noqa: E731
            told += f" {data!r:.600} {[(one[1], len(one[2])) for one in named]}"
        else:
            body = _encoded(sent or [])
            kind = "application/x-www-form-urlencoded"
            call = lambda: client.generic(method, address, body, kind, **more)  # noqa: E731
            told += f" {body[:600]}" if sent else ""
        self._answered(who, method, address, told, call)

    def _client(self, who: str) -> Client:
        client = Client(raise_request_exception=False)
        if who != "stranger":
            user, made = User.objects.get_or_create(username=f"fuzz-{who}")
            if made and who in ROLES:
                user.groups.add(Group.objects.get(name=who))
            client.force_login(user)
        if self.chance.random() < 0.2:
            odd = (
                self._value()[:200].encode(errors="replace").decode("latin-1")
            )  # as servers read it
            client.cookies[self.chance.choice(COOKIES)] = self.chance.choice((odd, quote(odd)))
        return client

    # --- what comes back -------------------------------------------------------------------------

    def _answered(
        self, who: str, method: str, address: str, told: str, call: Callable[[], Any]
    ) -> None:
        self.raised.clear()
        began = time.perf_counter()
        try:
            answer = call()
            text = b"".join(answer.streaming_content) if answer.streaming else answer.content
            answer.close()
            status = answer.status_code
        except Exception:  # While a list is streamed, say.
            self.raised.append("".join(traceback.format_exception(sys.exception())[-6:]))
            status, text = 500, b""
        self.slowest = max(self.slowest, (time.perf_counter() - began, told[:120]))
        self.statuses[status] += 1
        if status >= 500:
            self.breaches.append(Breach(who, told, status, "".join(self.raised)))
        elif b"<html" in text[:300] or b"<form" in text:
            self._learn(address, text.decode(errors="replace"))

    def _learn(self, path: str, page: str) -> None:
        """Its forms, by where they go and by their buttons, and one link for each place."""
        read = Read(path, page)
        for form in read.forms:
            for name, value, action in form.buttons or [("", "", form.action)]:
                if route := _route(action):
                    act = value if name in ("act", "group") else name
                    turn = f"form {form.method.upper()} {route} {act}".rstrip()
                    self.forms[turn] = Form(action, form.method, form.values, form.choices,
                                            form.files, [(name, value, action)])  # fmt: skip
                    self.turns[turn] = self._send_form
                    self.times.setdefault(turn, min(self.times.values(), default=0))
            self.known = [*self.known, *(value for _, value in form.values if value)][-400:]
        for link in read.links:
            if route := _route(link):
                turn = f"link {route}{'?' if '?' in link else ''}"
                self.links[turn] = link
                self.turns[turn] = self._follow
                self.times.setdefault(turn, min(self.times.values(), default=0))


def _encoded(sent: Values) -> str:
    return urlencode(sent, errors="surrogatepass", quote_via=quote_plus)


def _route(address: str) -> str:
    """What the table calls this address; empty for none of ours."""
    try:
        return resolve(urlsplit(address).path).route
    except (Resolver404, ValueError):
        return ""
