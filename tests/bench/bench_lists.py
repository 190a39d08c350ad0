"""How many spreadsheets of a folder are understood: at once, after a question, not, or wrongly.

Run as ``python -m tests.bench.bench_lists FOLDER``. The folder holds the files and a
``truth.json``: file name to ``kind``, ``columns`` (column key to letters) and ``rows`` of a list
of instruments, ``sets`` (code, name, lines) of count sheets, and ``needs``, the questions that
nobody could answer from the file. Every file goes through ``import_spreadsheet --json`` without
a catalog, as a department's first one does; nothing is written.
"""

from __future__ import annotations

import argparse
import json
import os
from collections import Counter
from io import StringIO
from pathlib import Path
from typing import Any

AT_ONCE, ASKED, GIVEN_UP, WRONG = "right at once", "asked", "given up", "wrong"


def read(path: Path) -> dict[str, Any] | None:
    """What the command says of a file; None where it says that it cannot tell what it is."""
    from django.core.management import CommandError, call_command

    out = StringIO()
    try:
        call_command("import_spreadsheet", str(path), "--json", stdout=out)
    except CommandError:
        if not out.getvalue():
            return None
    return json.loads(out.getvalue())


def judged(said: dict[str, Any] | None, truth: dict[str, Any]) -> tuple[str, str]:
    """One of the four words for what was ``said``, and why it is not the best of them."""
    if said is None:
        return GIVEN_UP, "kind unknown"
    asked = [f"{each['option']}: {each['about']}" for each in said.get("questions", ())]
    if not asked and said["file_problems"]:
        return GIVEN_UP, said["file_problems"][0]["code"]
    if said["kind"] != truth["kind"]:
        return WRONG, f"kind {said['kind']}"
    compare = _columns if truth["kind"] == "instruments" else _sets
    wrong, missing = compare(said, truth)
    if wrong:
        return WRONG, wrong
    if asked:
        return ASKED, "; ".join(asked)
    unclear = [note["heading"] for note in said["notes"] if note["code"] == "no_unit"]
    if missing or unclear:
        return GIVEN_UP, missing or f"unit of {', '.join(unclear)} not told, and not asked"
    return AT_ONCE, ""


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
    codes = [one for one, right in zip(found, wanted, strict=True) if one[0] != right[0]]
    if any(one[0] for one in codes):
        return f"{codes}", ""
    return "", "" if all(one[0] for one in found) else "no set number, and not asked"


def main() -> None:
    """Print one line a file, and the four sums."""
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
        word, why = judged(read(folder / name), truth)
        sums[word] += 1
        needs = f"  [needs {truth['needs']}]" if why and truth.get("needs") else ""
        print(f"{name:<32} {word:<14} {why}{needs}".rstrip())
    words = (AT_ONCE, ASKED, GIVEN_UP, WRONG)
    print(f"{len(truths)} files: " + ", ".join(f"{sums[word]} {word}" for word in words))


if __name__ == "__main__":
    main()
