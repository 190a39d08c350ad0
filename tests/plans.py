"""How the database would answer a query: which tables that grow it would read from end to end."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator
from typing import Any

from django.apps import apps
from django.db import connection

GROWING = (
    "Package", "Build", "BuildLine", "BuildEvent", "Load", "LoadedPackage",
    "LoadStep", "Shelved", "ShelfMove", "Request", "RequestStep", "RequestPackage", "Shortfall",
    "SupplyUse",
)  # fmt: skip
"""What packing makes rows of; the rest grows with the department, or hardly."""
SHARED = "KeptDecision"
"""Written for what was not decided so before: in a test too few for a server to ask an index."""
SMALL = {"package_here", "shortfall_still_open"}
"""Indexes of what still waits: read from end to end, they are short."""
NAMED = re.compile(r'"(\w+)" (?:AS )?"?([TU]\d+|V\d+)"?\b')
MOSTLY = ('WHERE NOT ("assembly_load"."state" IN (',)
"""Loads that are over."""
LIMITED = re.compile(r" LIMIT \d+(?: OFFSET \d+)?(?:\) subquery)?$")
"""So many in order, or counted up to so many."""
COUNTED = re.compile(r"^SELECT COUNT\(\*\) FROM \((.*)\) subquery$")
INNER = re.compile(r"\([^()]*\)")
SQLITE = re.compile(r"^(SCAN) (\w+)(?: USING (?:COVERING )?INDEX (\w+))?")


def tables() -> set[str]:
    """The tables that grow, by their names in the database."""
    names = (*GROWING, SHARED) if connection.vendor == "sqlite" else GROWING
    models = [apps.get_model("assembly", name) for name in names]
    package, change = models[0], apps.get_model("catalog", "Change")
    return {one._meta.db_table for one in (*models, change, package.lots.through)}


def scanned(queries: Iterable[dict[str, str]]) -> list[str]:
    """Of these queries each that reads a growing table from end to end, with what it reads."""
    known, plan = tables(), _sqlite if connection.vendor == "sqlite" else _server
    found = {}
    for sql in (one["sql"] for one in queries):
        asks = sql.startswith(("SELECT", "UPDATE", "DELETE")) and any(one in sql for one in known)
        if asks and (read := sorted(set(plan(sql, known)))):
            found[f"{', '.join(read)}: {sql}"] = None
    return list(found)


def _sqlite(sql: str, known: set[str]) -> Iterator[str]:
    called: dict[str, set[str]] = {}
    for table, short in NAMED.findall(sql):
        called.setdefault(short, set()).add(table)
    with connection.cursor() as cursor:
        cursor.execute(f"EXPLAIN QUERY PLAN {sql.replace('%', '%%')}", [])
        steps = [row[3] for row in cursor.fetchall()]
    in_order = (LIMITED.search(sql) and _most_pass(sql)
                and not any("TEMP B-TREE FOR ORDER" in step for step in steps))  # fmt: skip
    for step in steps:
        if hit := SQLITE.match(step):
            read, index = called.get(hit[2], {hit[2]}), hit[3]
            if index not in SMALL and not (index and in_order):
                yield from read & known


def _server(sql: str, known: set[str]) -> Iterator[str]:
    """Of few rows a server reads all: what it does by an index it tells where there are many.
    A page costs as much anywhere, as on a disk without heads."""
    with connection.cursor() as cursor:
        cursor.execute("SET LOCAL random_page_cost = 1.1")
        cursor.execute(f"EXPLAIN (FORMAT JSON) {sql.replace('%', '%%')}", [])
        (told,) = cursor.fetchone()
    whole = json.loads(told) if isinstance(told, str) else told
    yield from _read_whole(whole[0]["Plan"], known, passing=_most_pass(sql), in_order=False)


def _most_pass(sql: str) -> bool:
    """Whether rows read in order are soon enough: no condition, or one that most rows meet."""
    outer = COUNTED.sub(r"\1", sql)
    while outer != (outer := INNER.sub("", outer)):
        pass
    return " WHERE " not in outer or any(one in sql for one in MOSTLY)


def _read_whole(
    node: dict[str, Any], known: set[str], *, passing: bool, in_order: bool
) -> Iterator[str]:
    kind = node["Node Type"]
    streams = kind not in ("Sort", "Hash") and node.get("Strategy", "Sorted") == "Sorted"
    in_order = (kind == "Limit" and passing) or (in_order and streams)
    table = node.get("Relation Name") if kind.endswith("Scan") else None
    index = node.get("Index Name")
    by_index = "Index Cond" in node or index in SMALL or (index and in_order)
    below = node.get("Plans", [])
    if kind == "Bitmap Heap Scan":
        by_index = all("Index Cond" in one or one.get("Index Name") in SMALL
                       for one in _leaves(below))  # fmt: skip
        below = []
    if table in known and not by_index:
        yield table
    for one in below:
        yield from _read_whole(one, known, passing=passing, in_order=in_order)


def _leaves(nodes: Iterable[dict[str, Any]]) -> Iterator[dict[str, Any]]:
    for one in nodes:
        if inner := one.get("Plans"):
            yield from _leaves(inner)
        else:
            yield one
