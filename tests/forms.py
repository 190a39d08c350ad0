"""The forms and links of a page, as whoever sends nonsense to it finds them."""

from __future__ import annotations

from dataclasses import dataclass, field
from html.parser import HTMLParser

Values = list[tuple[str, str]]


@dataclass(slots=True)
class Form:
    """Where it goes, what it holds, and its buttons; ``files`` are its fields for files."""

    action: str
    method: str
    values: Values = field(default_factory=list)
    choices: dict[str, list[str]] = field(default_factory=dict)
    files: list[str] = field(default_factory=list)
    buttons: list[tuple[str, str, str]] = field(default_factory=list)
    """Name, value and address of its own of each."""


class Read(HTMLParser):
    """Reads a page at this path: its forms, and the links that lead to our own pages."""

    def __init__(self, path: str, page: str) -> None:
        super().__init__()
        self.path, self.forms, self.links = path, list[Form](), set[str]()
        self._named = dict[str, Form]()
        self._open: Form | None = None
        self._select = ""
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        here = {name: value or "" for name, value in attrs}
        for name in ("href", "hx-get", "data-now"):
            if here.get(name, "").startswith(("/", "?")):
                self.links.add(self._whole(here[name]))
        if tag == "form":
            self._open = Form(self._whole(here.get("action", "")), here.get("method", "get"))
            self.forms.append(self._open)
            self._named[here.get("id", "")] = self._open
            return
        form = self._named.get(here["form"]) if "form" in here else self._open
        if form:
            self._field(form, tag, here)

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self._open = None

    def _whole(self, address: str) -> str:
        return address if address.startswith("/") else self.path.partition("?")[0] + address

    def _field(self, form: Form, tag: str, here: dict[str, str]) -> None:
        name, value = here.get("name", ""), here.get("value", "")
        kind = here.get("type", "text")
        if tag == "button":
            own = here.get("formaction", "")
            form.buttons.append((name, value, self._whole(own) if own else form.action))
        elif tag == "select":
            self._select = name
        elif tag == "option":
            form.choices.setdefault(self._select, []).append(value)
        elif not name:
            return
        elif tag == "input" and kind == "file":
            form.files.append(name)
        elif tag == "input" and kind in ("checkbox", "radio"):
            form.choices.setdefault(name, []).append(value or "on")
        elif tag in ("input", "textarea"):
            form.values.append((name, value))
