"""The parts that pages are made of, one tag each. Every template has them without loading.

Names of attributes are written with ``_`` for ``-`` (``data_scan``, ``aria_label``); ``True``
gives an attribute without a value, ``None`` and ``False`` give none.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from decimal import Decimal
from itertools import chain
from typing import Any
from unicodedata import bidirectional

from django import template
from django.forms.utils import flatatt
from django.template.defaultfilters import floatformat
from django.urls import reverse
from django.utils.html import conditional_escape, format_html, format_html_join
from django.utils.safestring import SafeString, mark_safe

register = template.Library()

STATES = {
    "met": ("met", "✓"),
    "not met": ("not-met", "✕"),
    "cannot tell": ("cannot-tell", "?"),
    "does not apply": ("does-not-apply", "–"),
    "urgent": ("urgent", "!"),
}
"""How a rule can come out, and what is urgent -> its class and its sign."""


def attributes(given: dict[str, Any]) -> SafeString:
    """The attributes of an element, names with ``-``; a number keeps its plain digits."""
    return flatatt(
        {
            name.replace("_", "-"): value if isinstance(value, bool) else str(value)
            for name, value in given.items()
            if value is not None and value != ""
        }
    )


# Forms


@register.simple_tag
def hidden(**values: Any) -> SafeString:
    """Hidden fields; an empty value is sent as nothing."""
    written = ((name, "" if value is None else value) for name, value in values.items())
    return format_html_join("", '<input type="hidden" name="{}" value="{}">', written)


@register.simple_block_tag(takes_context=True)
def posted_form(
    context: Any, content: str, page: str = "", *at: Any, query: str = "", **attrs: Any
) -> SafeString:
    """A form posted to ``page``, or to the page it stands on; with htmx where it has a target."""
    action = attrs.pop("action", None)
    if page:
        action = reverse(page, args=at) + (query and f"?{query}")
    if "hx_target" in attrs:
        attrs = {"hx_post": action, **attrs}
    attrs = {"action": action, **attrs}
    token = hidden(csrfmiddlewaretoken=context.get("csrf_token"))
    # What is wrong is said in our words (forms.js, the server), never in a browser's bubble.
    return format_html(
        '<form method="post" novalidate{}>{}{}</form>', attributes(attrs), token, content
    )


@register.simple_block_tag(takes_context=True)
def keyed_form(context: Any, content: str, page: str = "", *at: Any, **attrs: Any) -> SafeString:
    """A posted form with the key that makes sending it twice the same as sending it once."""
    keyed = hidden(key=template.Variable("new_key").resolve(context)) + content
    return posted_form(context, mark_safe(keyed), page, *at, **attrs)


@register.simple_tag
def entry(name: str, label: str, id: str = "", cell: str = "", **attrs: Any) -> SafeString:
    """One field of a form row: its label above what is typed. ``id``: else its name."""
    id = id or name
    attrs = {"id": id, "name": name, "autocomplete": "off", **attrs}
    return format_html(
        '<div{}><label for="{}">{}</label><input{}></div>',
        attributes({"class": cell}), id, label, attributes(attrs),
    )  # fmt: skip


@register.simple_tag
def choose(
    name: str, label: str, options: Iterable[Any], id: str = "", chosen: Any = "",
    empty: str | None = None, **attrs: Any,
) -> SafeString:  # fmt: skip
    """One choice of a form row. ``options``: values, or pairs of value and words."""
    id = id or name
    pairs = [each if isinstance(each, tuple | list) else (each, each) for each in options]
    if empty is not None:
        pairs.insert(0, ("", empty))
    written = (
        (value, mark_safe(" selected") if str(value) == str(chosen) else "", words)
        for value, words in pairs
    )
    return format_html(
        '<div><label for="{}">{}</label><select{}>{}</select></div>',
        id, label, attributes({"id": id, "name": name, **attrs}),
        format_html_join("", '<option value="{}"{}>{}</option>', written),
    )  # fmt: skip


@register.simple_tag
def choice(name: str, value: str, words: str, chosen: Any = "", **attrs: Any) -> SafeString:
    """One of several answers, each a large target."""
    attrs = {"type": "radio", "name": name, "value": value, "checked": value == chosen, **attrs}
    return format_html(
        '<label class="choice"><input{}><span>{}</span></label>', attributes(attrs), words
    )


@register.simple_block_tag
def tick(
    content: str, name: str, value: Any = "yes", checked: Any = False, **attrs: Any
) -> SafeString:
    """A box to tick with its words."""
    attrs = {"type": "checkbox", "name": name, "value": value, "checked": bool(checked), **attrs}
    return format_html(
        '<label class="tick"><input{}> <span>{}</span></label>', attributes(attrs), content
    )


@register.simple_tag
def scan_field(name: str, label: str, placeholder: str, act: str, **attrs: Any) -> SafeString:
    """The one field for scans of a page, in its head: a form with the id ``scan-form`` has it.

    ``act`` is what its button says.
    """
    attrs = {
        "type": "search", "id": "scan", "name": name, "placeholder": placeholder,
        "autocomplete": "off", "autocapitalize": "off", "spellcheck": "false", **attrs,
    }  # fmt: skip
    return format_html(
        '<label class="hidden" for="scan">{}</label><input{}><button>{}</button>',
        label, attributes(attrs), act,
    )  # fmt: skip


# Tables


@register.simple_block_tag
def table(content: str, label: str, **attrs: Any) -> SafeString:
    """A table that scrolls inside the page; ``class="stacks"``: rows become cards on a phone."""
    return format_html(
        '<div class="table-scroll" tabindex="0" role="group" aria-label="{}">'
        "<table{}>{}</table></div>",
        label, attributes(attrs), content,
    )  # fmt: skip


@register.simple_tag
def heads(*names: str | list[str]) -> SafeString:
    """The heading row; ``#`` before a name: figures, ``-``: for the ear only, no name: no head."""
    each = chain.from_iterable([name] if isinstance(name, str) else name for name in names)
    return format_html("<thead><tr>{}</tr></thead>", mark_safe("".join(map(_head, each))))


def _head(name: str) -> str:
    if name.startswith("#"):
        return format_html('<th class="number">{}</th>', name[1:])
    if name.startswith("-"):
        return format_html('<th><span class="hidden">{}</span></th>', name[1:])
    return format_html("<th>{}</th>", name) if name else "<td></td>"


# What is said


_LETTERS = "\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufefc\U00010800-\U00010fff\U0001e800-\U0001efff"
RIGHT_TO_LEFT = re.compile(f"[{_LETTERS}](?:[^A-Za-z&;:.<>]*[{_LETTERS}])*")
"""Words of the blocks that Unicode keeps for right-to-left scripts (UAX 9, table of defaults), with
what stands between two of them."""


@register.filter
def isolated(value: Any) -> Any:
    """A name in its own direction, where it has right-to-left letters: what stands after it, such
    as a size, stays after it. Names in our templates have this by ``config.isolating``."""
    text = str(value)
    if text.isascii() or not any(bidirectional(sign) in ("R", "AL") for sign in text):
        return value
    return format_html("<bdi>{}</bdi>", value)


@register.filter
def isolated_inside(value: Any) -> Any:
    """A sentence, in which each run of right-to-left words keeps its own direction. What is made
    of HTML already stays as it is."""
    text = str(value)
    if text.isascii() or (isinstance(value, SafeString) and "<" in value):
        return value
    said = conditional_escape(value)
    return mark_safe(RIGHT_TO_LEFT.sub(r"<bdi>\g<0></bdi>", said))


@register.simple_block_tag
def notice(content: str, tone: str = "care", **attrs: Any) -> SafeString:
    """A message: ``bad`` for what must be seen, ``care`` for what should; ``urgent``, ``good``."""
    attrs["class"] = f"notice {tone} {attrs.get('class', '')}".strip()
    return format_html("<div{}>{}</div>", attributes(attrs), content)


TONES = {
    "right": ("right", "✓", ""),
    "success": ("right", "✓", ""),
    "wrong": ("wrong", "✕", "No."),
    "warning": ("wrong", "✕", "No."),
    "error": ("wrong", "✕", "No."),
    "ask": ("ask", "?", ""),
}
"""A tone, or the level of a message -> its class, its sign and its word."""


@register.simple_block_tag
def answer(content: str, tone: str) -> SafeString:
    """The answer to a scan or a press, for the head of the page: ``right``, ``wrong``,
    ``ask`` (a question that waits for a press) or ``note``.

    What is offered to press goes into the content, after the words.
    """
    name, sign, word = TONES.get(tone, ("note", "·", ""))
    said = format_html("<strong>{}</strong> ", word) if word else ""
    return format_html(
        '<div class="said {}"><span class="said-sign" aria-hidden="true">{}</span>'
        '<div class="said-words">{}{}</div></div>',
        name, sign, said, mark_safe(content.strip()),
    )  # fmt: skip


@register.simple_tag
def listed(tone: str, heading: str, said: Iterable[str], **attrs: Any) -> SafeString:
    """A message that names several things; nothing where there are none."""
    items = format_html_join("", "<li>{}</li>", ((each,) for each in said or ()))
    if not items:
        return mark_safe("")
    return notice(format_html("<h3>{}</h3><ul>{}</ul>", heading, items), tone, **attrs)


@register.simple_block_tag
def verdict(content: str, outcome: str, headline: str) -> SafeString:
    """What was decided, in one line with its reasons: ``recommended``, ``none`` or open."""
    return format_html(
        '<div class="verdict {}"><h2 class="big">{}</h2>{}</div>', outcome, headline, content
    )


@register.simple_tag
def amount(value: Decimal | None, unit: str) -> SafeString:
    """A figure with its unit, or that it is not known."""
    if value is None:
        return mark_safe('<span class="unknown">not known</span>')
    return format_html("{} {}", floatformat(value, "-1"), unit)


@register.simple_tag
def state(status: str, word: str = "") -> SafeString:
    """How a rule came out, or ``word`` for how a thing stands; never by colour alone."""
    name, sign = STATES[status]
    if word:
        sign = {"?": "!", "–": ""}.get(sign, sign)
    mark = format_html('<span aria-hidden="true">{}</span>', sign) if sign else ""
    return format_html('<span class="state {}">{}{}</span>', name, mark, word or status)
