"""What stands in the JSON lines, field by field: ``docs/json-lines.md``, made from the models.

Made again by ``manage.py export_lines --describe > docs/json-lines.md``; a test compares them.
"""

from __future__ import annotations

import inspect
import re
from collections.abc import Iterator
from typing import Any

from django.contrib.auth.models import Group, User
from django.db import models

from assembly.models.base.compressed import CompressedJSONField
from config.installation import lines

HEAD = """\
# Everything on record, as JSON lines

`manage.py export_lines FILE` (or `-` for standard output), and for coordinators the button at the
foot of *Records*. UTF-8; one JSON object a line, each ended by a line feed (jsonlines.org). People
go on working meanwhile: all of it is as it stood at one moment. Photographs are not in it, only
their names: a backup has them.

This file is made by `manage.py export_lines --describe`; a test holds it to the program.

## What holds for every line

- `is` says what a line is, and so which of the tables below describes it.
- `id` is the row's key among the lines of that name. Another row names it by that:
  `"instrument": 12` is the line `catalog.instrument` whose `id` is 12. Of keys a list is `[12]`.
- Lengths are millimeters (`..._mm`), weights grams (`..._g`), temperatures degrees Celsius
  (`..._c`), times of cycles minutes (`..._min`, `..._max`).
- A moment is ISO 8601 with its offset, in UTC. A day is `YYYY-MM-DD`, in the hospital's time zone,
  which the first line names.
- `null` is *not known* or *not yet*; `""` and `[]` say that there is none. Never take `null` for
  zero or for no: what is not known passes no rule.
- What is written once (steps, moves, changes, decisions) is never altered. All else is as it
  stands now, and its steps say how it came to that.
- Lines of one name come together, in the order of their keys.
- New fields may come; a reader ignores those that it does not know. `format` in the first line is
  counted up when anything else changes.

## The lines that no table holds

| `is` | holds |
|---|---|
| `packbench` | The first line: `format`, `made_at`, `hospital`, `time_zone`, `rows` (how many \
lines of each name follow), `left_out` and `fields_left_out` (with the reason). |
| `policy.shipped` | One value of the policy as the program ships it: `name`, `title`, `unit`, \
`history` (each `value` with the day `since` which it holds, `source`, `clause`, `confidence`), \
`last_checked`, `group`, `choices`, `at_least` and `at_most` with `floor_source` and \
`ceiling_source`, `optional`, `several`. The department's own are `assembly.policyoverride`. |
| `end` | The last line: `rows`, how many lines of tables were written. A file without it was cut \
off. |

"""
UNITS = {"_mm": "mm", "_g": "g", "_c": "°C", "_min": "min", "_max": "min", "_days": "days"}
WORDS = {
    "actor": "who did it, by name as it was then, or which command",
    "after": "fields and what they became",
    "amount": "how many were used up",
    "at": "when",
    "because": "why, in words",
    "before": "fields and what they were",
    "body": "facts, findings with their rules, figures, limits and sources, what was taken and "
    "what was passed over, and the digest of the policy of that moment",
    "by": "who, by name as it was then",
    "checks": "what was looked at before it was closed, with the answers",
    "code": "its code, as labels and scanners have it",
    "contents": "what is inside",
    "cost": "what one costs, of a roll a meter, in any currency: only compared",
    "data": "what the event says beside its kind",
    "department": "which department or OR",
    "ended_at": "when nothing more was to be done with it",
    "expected_on": "the day on which it is expected back",
    "fingerprint": "digest of the headings",
    "goes_in": "whether it goes into the catalog as it stands",
    "holder": "which department or person has it",
    "in_stock": "whether it is kept in stock",
    "item_number": "the department's number of the instrument",
    "key": "that of the press that made it: sent twice it is one",
    "last_step": "the number of its last step",
    "lot": "the maker's lot",
    "number": "the place of the step, counted from 1; or the number by which people call it",
    "object_key": "number or code of what was changed",
    "object_name": "what it was called then",
    "order": "its place in the list",
    "pieces": "how many pieces",
    "quantity": "how many",
    "reason": "why, in words",
    "said": "what was said, in words",
    "state": "how it stands",
    "supply": "kind and code of the supply, as in `pouch:P-1`",
    "values": "field to value",
    "verdict": "what the check found of the row",
    "was": "what stood there",
    "words": "what was said, in words",
}
"""What a field holds whose name alone does not tell; ``..._by`` and ``..._at`` tell it."""
ENDS = {
    "_by": "who, by name as it was then",
    "_at": "the moment of it",
    "_on": "the day of it",
    "_name": "as it was called then",
}
OF_DJANGO = {
    User: "An account. Who is on record is there by name, as it was when it was written.",
    Group: "A role.",
}
ROLE = re.compile(r":\w+:`~?([^`]+)`")
PLAIN: tuple[tuple[Any, str], ...] = (
    (models.AutoField, "key"),
    (models.FileField, "name of a file"),
    (models.DateTimeField, "moment"),
    (models.DateField, "day"),
    (models.BooleanField, "true or false"),
    (models.IntegerField, "whole number"),
    (models.DecimalField | models.FloatField, "number"),
    (models.JSONField | CompressedJSONField, "JSON"),
    (models.BinaryField, "bytes, two hexadecimal digits each"),
    (models.CharField | models.TextField, "text"),
)
"""Kinds of columns to words, the narrower first."""


def described() -> str:
    """The whole file."""
    found = lines.kinds()
    return f"{HEAD}{''.join(map(_kind, found))}{''.join(_left_out(found))}"


def _kind(kind: lines.Kind) -> str:
    rows = [_row(one.name, _type(one), _holds(one)) for one in kind.fields]
    rows += [
        _row(one.name, f"keys of `{one.related_model._meta.label_lower}`", _holds(one))
        for one in kind.lists
    ]
    about = "\n\n".join(_about(kind.model))
    head = f"## `{kind.name}`\n\n{about}\n\n| field | is | holds |\n|---|---|---|\n"
    return f"{head}{''.join(rows)}\n"


def _about(model: type[models.Model]) -> Iterator[str]:
    """What the model says of itself, without the marks of its documentation."""
    said = OF_DJANGO.get(model) or model.__doc__ or ""
    if said.startswith(f"{model.__name__}("):  # Django's own, where nobody wrote any
        said = f"{str(model._meta.verbose_name).capitalize()}."
    for part in re.split(r"\n\s*\n", inspect.cleandoc(said)):
        yield ROLE.sub(r"`\1`", part).replace("``", "`")


def _row(name: str, kind: str, holds: str) -> str:
    return f"| `{name}` | {kind} | {holds} |\n"


def _holds(field: models.Field[Any, Any]) -> str:
    said = "" if field.model in OF_DJANGO else str(field.help_text)
    own = str(field.verbose_name)
    if field.primary_key:
        own = "the row's key"
    elif own == field.name.replace("_", " "):
        end = next((words for end, words in ENDS.items() if field.name.endswith(end)), "")
        own = WORDS.get(field.name) or f"{own}{f': {end}' if end else ''}"
    return f"{own}: {said}" if said else own


def _type(field: models.Field[Any, Any]) -> str:
    words = _bare_type(field)
    unit = next((unit for end, unit in UNITS.items() if field.name.endswith(end)), "")
    if unit and words in ("number", "whole number"):
        words += f", {unit}"
    return f"{words}, or `null`" if field.null else words


def _bare_type(field: models.Field[Any, Any]) -> str:
    if field.is_relation and field.related_model:
        return f"key of `{field.related_model._meta.label_lower}`"
    words = next(words for kind, words in PLAIN if isinstance(field, kind))
    if field.flatchoices:
        return f"{words}: {', '.join(f'`{value}`' for value, _ in field.flatchoices if value)}"
    return words


def _left_out(found: list[lines.Kind]) -> Iterator[str]:
    yield "## What is left out, and why\n\n| what | why |\n|---|---|\n"
    for name, why in lines.LEFT_OUT.items():
        yield f"| `{name}` | {why} |\n"
    for kind in found:
        for name, why in kind.left_out.items():
            yield f"| `{name}` of `{kind.name}` | {why} |\n"
