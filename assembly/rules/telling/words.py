"""What is asked and said at the bench, as data: ``words.toml``, read strictly and once."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

from assembly.rules.findings import each_once
from assembly.rules.policy.values import Policy
from catalog.data_files import DataError, check_keys, check_text, read_data

_KEYS = {
    **{group: {"word", "question", "if_no"} for group in ("piece", "package", "closed")},
    "release": {"question", "if_no"},
    "lying": {"text"},
    "loading": {"text"},
    "inside": {"place", "text"},
    "outside": {"place", "text"},
}
_MORE = {"source", "policy", "amounts", "when"}


def told(
    group: str, key: str, policy: Policy | None = None, *, known: bool | None = None, **put_in: str
) -> dict[str, Any]:
    """The texts of an entry by their names, with its source, and its amounts if it has any.

    ``put_in`` stands for the words in braces. A question with a condition is asked outright
    where that is ``known`` to hold, else with "if", and ``when`` is that condition. ``policy``
    may be left out for groups that name none of its values.
    """
    entry = _entries()[group][key]
    texts = {name: entry[name] for name in _KEYS[group]}
    for word, value in put_in.items():
        texts = {name: text.replace(f"{{{word}}}", value) for name, text in texts.items()}
    if "when" in entry:
        question = texts["question"]
        texts["question"] = question[0].upper() + question[1:]
        if not known:
            texts |= {"question": f"If {entry['when']}, {question}", "when": entry["when"]}
    sources = [entry["source"]] if "source" in entry else []
    if policy and "policy" in entry:
        sources.append(policy.source(*entry["policy"]))
    if policy and "amounts" in entry:
        named = entry["amounts"].items()
        texts["amounts"] = {name: (policy.number(value), "mm") for name, value in named}
    return {**texts, "source": each_once(sources)}


@cache
def _entries() -> dict[str, dict[str, dict[str, Any]]]:
    return load(Path(__file__).with_name("words.toml"))


def load(path: Path) -> dict[str, dict[str, dict[str, Any]]]:
    """The entries by group and key; DataError on the first thing that is wrong."""
    groups = check_keys(path.name, "(top)", read_data(path), _KEYS, _KEYS)
    for group, entries in groups.items():
        for key, raw in entries.items():
            place = f"{group}.{key}"
            entry = check_keys(path.name, place, raw, _KEYS[group] | _MORE, _KEYS[group])
            if not {"source", "policy"} & set(entry):
                raise DataError(path.name, f"{place}.source", "must name where it comes from")
            for name in _KEYS[group]:
                check_text(path.name, f"{place}.{name}", entry[name])
    return groups
