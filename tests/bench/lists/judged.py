"""How many spreadsheets of a folder are understood: at once, after questions, not, or wrongly.

Run as ``python -m tests.bench.lists.judged FOLDER``. The folder holds the files and a
``truth.json``: file name to ``kind``, ``columns`` (column key to letters) and ``rows`` of a list
of instruments, ``sets`` (code, name, lines) of count sheets, and ``needs``, the questions that
nobody could answer from the file, in words; without them a set without a code needs one. Every
file goes through ``import_spreadsheet --json`` without a catalog, as a department's first one does,
and its questions are answered by the truth (else with the likeliest choice) until none is left;
nothing is written. A file is right after questions only when they are those that it needs.
"""

from __future__ import annotations

import argparse
import json
import os
import shlex
from collections import Counter
from io import StringIO
from pathlib import Path
from typing import Any

AT_ONCE, ASKED, GIVEN_UP, WRONG = "right at once", "asked", "given up", "wrong"
MOST_QUESTIONS = 20
NAMED_BY = {
    "--column": "column", "--unit": "unit", "--set-number": "set number",
    "--quantity": "quantit", "--numbers-from": "item number",
}  # fmt: skip
"""Option of a question to the word by which ``needs`` names it."""


def read(path: Path, options: list[str]) -> dict[str, Any] | None:
    """What the command says of a file; None where it says that it cannot tell what it is."""
    from django.core.management import CommandError, call_command

    out = StringIO()
    try:
        call_command("import_spreadsheet", str(path), "--json", *options, stdout=out)
    except CommandError:
        if not out.getvalue():
            return None
    return json.loads(out.getvalue())


def answered(path: Path, truth: dict[str, Any]) -> tuple[dict[str, Any] | None, list[str]]:
    """What the command says of a file once all that it asks is answered, and what it asked."""
    options: list[str] = []
    asked: list[str] = []
    said = read(path, options)
    while said and said.get("questions") and len(asked) < MOST_QUESTIONS:
        question = said["questions"][0]
        name, text = shlex.split(question["option"])
        answer = _answer(name, text, question, truth)
        options.append(f"{name}={text.removesuffix('ANSWER')}{answer}")
        asked.append(f"{name} {text.removesuffix('ANSWER')}{answer}")
        said = read(path, options)
    return said, asked


def _answer(name: str, text: str, question: dict[str, Any], truth: dict[str, Any]) -> str:
    """The answer by the truth, where it tells; else the likeliest choice."""
    offered = [each["answer"] for each in question["choices"]]
    if name == "--kind":
        return str(truth["kind"])
    if name != "--column" or "columns" not in truth:
        return offered[0] if offered else ""
    letter = text.rpartition("!")[2].partition("=")[0]
    right = [key for key, letters in truth["columns"].items() if letter in letters]
    return next((key for key in offered if key in right), right[0] if right else "none")


def judged(said: dict[str, Any] | None, asked: list[str], truth: dict[str, Any]) -> tuple[str, str]:
    """One of the four words for what was ``said`` in the end, and why it is not the best of them.

    Only questions that the truth names, and all of them, are as good as none.
    """
    if said is None:
        return GIVEN_UP, "kind unknown"
    if said["file_problems"]:
        return GIVEN_UP, said["file_problems"][0]["code"]
    if said["kind"] != truth["kind"]:
        return WRONG, f"kind {said['kind']}"
    compare = _columns if truth["kind"] == "instruments" else _sets
    wrong, missing = compare(said, truth)
    if wrong:
        return WRONG, wrong
    unclear = [note["heading"] for note in said["notes"] if note["code"] == "no_unit"]
    if missing or unclear:
        return GIVEN_UP, missing or f"unit of {', '.join(unclear)} not told, and not asked"
    needed, named = _needed(truth), {NAMED_BY.get(each.split()[0], "kind") for each in asked}
    if needed - named:
        return WRONG, f"not asked for: {', '.join(sorted(needed - named))}"
    if named - needed:
        return GIVEN_UP, f"asked, and need not: {'; '.join(asked)}"
    return (ASKED, "; ".join(asked)) if asked else (AT_ONCE, "")


def _needed(truth: dict[str, Any]) -> set[str]:
    """The words of the questions that the truth names, else of the number that a set lacks."""
    needs = truth.get("needs", "")
    words = {word for word in NAMED_BY.values() if word in needs and "draft" not in needs}
    codes = [one["code"] for one in truth.get("sets", ())]
    return words or ({"set number"} if None in codes else set())


def _columns(said: dict[str, Any], truth: dict[str, Any]) -> tuple[str, str]:
    mapping = next(iter(said["mapping"].values()), {})
    wrong = [
        f"{key} is {letter}, not {' or '.join(truth['columns'][key])}"
        for key, letter in mapping.items()
        if key in truth["columns"] and letter not in truth["columns"][key]
    ]
    wrong += [f"{key} is no {key}: {mapping[key]}" for key in mapping if _taken(key, truth)]
    rows = sum(said["counts"].values())
    if mapping and not said["file_problems"] and rows != truth["rows"]:
        wrong.append(f"{rows} rows, not {truth['rows']}")
    missing = [key for key in truth["columns"] if key not in mapping]
    return "; ".join(wrong), f"{', '.join(missing)} not read" if missing else ""


def _taken(key: str, truth: dict[str, Any]) -> bool:
    """A column that the truth does not have, among those that it tells of elsewhere."""
    return key in ("length", "width", "height", "weight", "maker") and key not in truth["columns"]


def _sets(said: dict[str, Any], truth: dict[str, Any]) -> tuple[str, str]:
    found = [(one["code"] or None, one["name"], one["lines"]) for one in said["sets"]]
    wanted = [(one["code"], one["name"], one["lines"]) for one in truth["sets"]]
    if not found:
        return "", "no set read"
    if [one[1:] for one in found] != [one[1:] for one in wanted]:
        return f"{found}", ""
    pairs = list(zip(found, wanted, strict=True))
    if any(right[0] and one[0] != right[0] for one, right in pairs):
        return f"{[one[0] for one in found]}", ""
    return "", "" if all(one[0] for one in found) else "no set number, and not asked"


def main() -> None:
    """Print one line a file, and the four sums. "asked" is right after the questions it needs."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    folder = parser.parse_args().folder
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings.development")
    os.environ["DATABASE_URL"] = "sqlite://:memory:"
    import django

    django.setup()
    truths = json.loads((folder / "truth.json").read_text())
    sums: Counter[str] = Counter()
    for name, truth in truths.items():
        said, asked = answered(folder / name, truth)
        word, why = judged(said, asked, truth)
        sums[word] += 1
        needs = f"  [needs {truth['needs']}]" if why and truth.get("needs") else ""
        print(f"{name:<32} {word:<14} {why}{needs}".rstrip())
    words = (AT_ONCE, ASKED, GIVEN_UP, WRONG)
    print(f"{len(truths)} files: " + ", ".join(f"{sums[word]} {word}" for word in words))


if __name__ == "__main__":
    main()
