"""What a page offers, read as a person sees it: its presses, and which of all is the strong one."""

from __future__ import annotations

from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import Any

from django.http import HttpResponse
from django.test import Client


@dataclass(frozen=True, slots=True)
class Press:
    """A button of a posted form: where it goes, with the hidden fields and its own value."""

    action: str
    fields: dict[str, list[str]]

    @property
    def act(self) -> str:
        """What a page of several presses calls it; blank where it has but one."""
        return self.fields.get("act", [""])[-1]

    def send(self, client: Client, **typed: Any) -> HttpResponse:
        """What comes of it, with what a person typed or chose beside it."""
        answer: HttpResponse = client.post(self.action, self.fields | typed)
        return answer


@dataclass
class Page(HTMLParser):
    """Its presses and strong links, in their order."""

    presses: list[Press] = field(default_factory=list)
    links: list[str] = field(default_factory=list)
    first: list[Press | str] = field(default_factory=list)

    @classmethod
    def of(cls, client: Client, address: str) -> Page:
        page = cls()
        page.feed(client.get(address, follow=True).content.decode())
        return page

    def strong(self) -> Press | str:
        """The first strong press, or the address of the first strong link."""
        return self.first[0]

    def __post_init__(self) -> None:
        super().__init__()
        self.action, self.hidden = "", dict[str, list[str]]()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Forms, what they carry unseen, their buttons, and links made to look like one."""
        here = {name: value or "" for name, value in attrs}
        strong = bool({"main-act", "strong"} & set(here.get("class", "").split()))
        if tag == "form":
            self.action, self.hidden = here.get("action", ""), {}
        elif tag == "input" and here.get("type") == "hidden":
            self.hidden.setdefault(here.get("name", ""), []).append(here.get("value", ""))
        elif tag == "button" and self.action and "disabled" not in here:
            own = {here["name"]: [here.get("value", "")]} if "name" in here else {}
            self.presses.append(Press(self.action, self.hidden | own))
            self.first += self.presses[-1:] if strong else []
        elif tag == "a" and strong:
            self.first.append(here.get("href", ""))

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self.action = ""
