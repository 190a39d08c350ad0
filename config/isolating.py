"""Names in a page stand for themselves: one of right-to-left letters does not turn its line.

Each name that a template of ours writes into text gets the filter ``isolated`` as the template is
loaded, each sentence with names in it ``isolated_inside``: here, once, and not in two hundred
places of which the next one would be forgotten.
"""

from __future__ import annotations

import re
from typing import Any

from django.conf import settings
from django.template.loaders import app_directories, filesystem

NAMED = re.compile(
    r"\{\{ (?:\w+\.)*(?:name|what|get_full_name|username|holder|holder_name|actor|by|\w+_by)"
    r"(?:\|[^}]*)? \}\}"
)
"""What people and things are called, by the names that our rows and documents give it."""
SAID = re.compile(r"\{\{ (?:\w+\.)*(?:message|words|sentence|problem|refusal|why)(?:\|[^}]*)? \}\}")
"""Sentences that Python made, with names inside."""
FILTERS = {NAMED: "isolated", SAID: "isolated_inside"}
_TEMPLATE_WORDS = re.compile(r"\{[%{#].*?[%}#]\}", re.DOTALL)
_TEXT_ALONE = ("title", "option", "textarea")
"""Elements that hold no others."""


def isolated(source: str) -> str:
    """The template with the filter on every name and sentence that stands in text.

    >>> isolated('<a title="{{ one.name }}">{{ one.name }}</a> {{ said.words }}')
    '<a title="{{ one.name }}">{{ one.name|isolated }}</a> {{ said.words|isolated_inside }}'
    """
    for named, how in FILTERS.items():
        source = _with_filter(source, named, how)
    return source


def _with_filter(source: str, named: re.Pattern[str], how: str) -> str:
    plain = _TEMPLATE_WORDS.sub(lambda found: " " * len(found[0]), source)
    parts, done = [], 0
    for found in named.finditer(source):
        if _in_text(plain[: found.start()], source[: found.start()]):
            parts += [source[done : found.start()], f"{found[0][:-3]}|{how} }}}}"]
            done = found.end()
    return "".join([*parts, source[done:]])


def _in_text(plain: str, source: str) -> bool:
    inside = [plain.rfind(f"<{name}") > plain.rfind(f"</{name}") for name in _TEXT_ALONE]
    in_title = source.rfind("{% block title %}") > source.rfind("{% endblock %}")
    return plain.rfind("<") <= plain.rfind(">") and not any(inside) and not in_title


class _Isolating:
    def get_contents(self, origin: Any) -> str:
        source = str(super().get_contents(origin))  # type: ignore[misc]
        ours = str(origin.name).startswith(f"{settings.BASE_DIR}/") and "/site-packages/" not in (
            str(origin.name)
        )
        return isolated(source) if ours else source


class Shell(_Isolating, filesystem.Loader):
    """The templates of ``config``."""


class Apps(_Isolating, app_directories.Loader):
    """The templates of the other apps."""
