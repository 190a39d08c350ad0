"""Every address in one table: who opens it, who may send to it, what it is, what it costs.

Permissions, query budgets, axe and the width of a telephone all run over it: a new page has
all four by standing here, and fails until it does.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from django.urls import URLPattern, URLResolver, get_resolver

from config.roles import ROLES

Who = frozenset[str]
NOBODY: Who = frozenset()
EVERYBODY: Who = frozenset(ROLES)
SIGNED_IN: Who = EVERYBODY | {"nobody in particular"}
"""Also those without a role."""
PACKERS: Who = frozenset({"technician", "coordinator"})
COORDINATORS: Who = frozenset({"coordinator"})
UNSIGNED: Who = SIGNED_IN | {"a stranger"}
"""Also before anybody has signed in."""


@dataclass(frozen=True, slots=True)
class Address:
    """Who ``opens`` it (GET) and who ``sends`` to it (POST); for nobody it answers 405.

    ``queries`` is what one GET costs a coordinator where there are three of everything, and
    ``each`` what every further row may add. ``also`` has the queries for what can be asked of
    it beside (``"?q=forceps"``); a page is looked at in each of these states.
    """

    kind: str
    opens: Who = NOBODY
    sends: Who = NOBODY
    queries: int = 0
    also: dict[str, int] = field(default_factory=dict)
    each: int = 0


def page(
    opens: Who,
    queries: int,
    sends: Who = NOBODY,
    also: dict[str, int] | None = None,
    each: int = 0,
) -> Address:
    """A whole page, which axe looks at, and which must fit a telephone."""
    return Address("page", opens, sends, queries, also or {}, each)


def part(opens: Who, queries: int) -> Address:
    """A part of a page, as a script asks for it."""
    return Address("part", opens, queries=queries)


def file(opens: Who, queries: int, each: int = 0) -> Address:
    """A paper, a picture or a list to take away."""
    return Address("file", opens, queries=queries, each=each)


def moved(opens: Who) -> Address:
    """Where something was once: it leads to where it is now."""
    return Address("moved", opens)


def begun(opens: Who) -> Address:
    """A file that takes long: it leads to the page of the run that makes it."""
    return Address("begun", opens)


def sent(sends: Who) -> Address:
    """Only sent to."""
    return Address("sent", sends=sends)


REVISION = "sets/<str:code>/count-sheets/<int:revision>/"
ADDRESSES: dict[str, Address] = {
    "": page(EVERYBODY, 24),
    "bench/": page(EVERYBODY, 36),
    "bench/now/": part(PACKERS, 19),
    "waits/": page(COORDINATORS, 24),
    "how/<slug:role>/": page(EVERYBODY, 4),
    "find/": page(EVERYBODY, 4, also={"?q=forceps": 10, "?q=forcebs": 10}),
    "sign-in/": page(UNSIGNED, 4, UNSIGNED),
    "sign-out/": sent(SIGNED_IN),
    "not-sent/": page(SIGNED_IN, 4),
    "password/": page(SIGNED_IN, 4, SIGNED_IN),
    "accounts/": page(COORDINATORS, 6),
    "accounts/<int:pk>/switch/": sent(COORDINATORS),
    "healthy/": part(UNSIGNED, 2),
    "ready/": part(UNSIGNED, 4),
    "parts/": page(SIGNED_IN, 4),
    "instruments/": page(EVERYBODY, 7, also={"?as=csv": 6}),
    "instruments/<str:item_number>/": page(
        EVERYBODY, 23, PACKERS, also={"?double=1": 17, "?take=pouch:TP-1": 21}
    ),
    "instruments/<str:item_number>/passed-over/": part(EVERYBODY, 9),
    "instruments/<str:item_number>/label.pdf": file(PACKERS, 9),
    "instruments/<str:item_number>/edit/": page(COORDINATORS, 8, COORDINATORS),
    "instruments/<str:item_number>/photo.jpg": file(EVERYBODY, 5),
    "instruments/<str:item_number>/photo/": page(COORDINATORS, 5, COORDINATORS),
    "instruments/<str:item_number>/retire/": page(COORDINATORS, 7, COORDINATORS),
    "instruments/<str:item_number>/propose/": page(PACKERS, 14, PACKERS),
    "instruments/<str:item_number>/compared/": sent(COORDINATORS),
    "proposals/<int:pk>/act/": sent(PACKERS),
    "questions/ask/": sent(PACKERS),
    "questions/<int:pk>/act/": sent(PACKERS),
    "questions/<int:pk>/sign/": page(COORDINATORS, 9, COORDINATORS),
    "new-instrument/": page(COORDINATORS, 5, COORDINATORS),
    "new-set/": page(COORDINATORS, 7, COORDINATORS),
    "new-supply/<str:kind>/": page(COORDINATORS, 5, COORDINATORS),
    "records/": page(COORDINATORS, 8, also={"?as=csv": 7, "?q=f-1": 15, "?q=xyzzy": 13}),
    "records/everything.jsonl": begun(COORDINATORS),
    "instruments/<str:item_number>/pack/": moved(EVERYBODY),
    "sets/": page(EVERYBODY, 6, also={"?as=csv": 6}),
    "sets/<str:code>/edit/": page(COORDINATORS, 11, COORDINATORS),
    "sets/<str:code>/new-draft/": page(COORDINATORS, 7, COORDINATORS),
    "sets/<str:code>/retire/": page(COORDINATORS, 5, COORDINATORS),
    REVISION: page(EVERYBODY, 8, also={"?as=csv": 8}),
    f"{REVISION}compare/": page(EVERYBODY, 10, COORDINATORS),
    f"{REVISION}edit/": page(COORDINATORS, 7, COORDINATORS),
    f"{REVISION}find/": part(COORDINATORS, 5),
    f"{REVISION}weight/": part(EVERYBODY, 10),
    "sets/<str:code>/": page(EVERYBODY, 23),
    "sets/<str:code>/layout/": page(EVERYBODY, 13, PACKERS, also={"?anew=1": 12}),
    "sets/<str:code>/passed-over/": part(EVERYBODY, 11),
    "sets/<str:code>/split/": page(EVERYBODY, 11, also={"?layers=1": 11, "?layers=none": 11}),
    "sets/<str:code>/split/drafts/": sent(COORDINATORS),
    "sets/<str:code>/split.pdf": file(PACKERS, 10),
    "sets/<str:code>/weighing/": page(EVERYBODY, 11),
    "sets/<str:code>/weighing/act/": sent(PACKERS),
    "sets/<str:code>/build/": sent(PACKERS),
    "sets/<str:code>/count-sheet.pdf": file(PACKERS, 14),
    "builds/<int:pk>/": page(EVERYBODY, 18),
    "builds/<int:pk>/now/": part(EVERYBODY, 18),
    "builds/<int:pk>/scan/": sent(PACKERS),
    "builds/<int:pk>/act/": sent(PACKERS),
    "builds/<int:pk>/pack/": page(PACKERS, 25, PACKERS),
    "builds/<int:pk>/reopen/": sent(PACKERS),
    "builds/<int:pk>/give-up/": sent(PACKERS),
    "packages/<str:code>/": page(EVERYBODY, 14, also={"?wrong=1": 14}),
    "packages/<str:code>/seal/": sent(PACKERS),
    "packages/<str:code>/alike/": page(EVERYBODY, 9),
    "packages/<str:code>/alike/seal/": sent(PACKERS),
    "packages/<str:code>/labels.pdf": file(PACKERS, 15),
    "packages/<str:code>/labels/": page(PACKERS, 16),
    "packages/<str:code>/wrong/": sent(EVERYBODY),
    "packages/<str:code>/record/": page(EVERYBODY, 15),
    "packages/<str:code>/record.pdf": file(EVERYBODY, 15),
    "wrong/": page(EVERYBODY, 6, also={"?q=T-1": 13, "?q=forcebs": 9}),
    "wrong/<int:pk>/act/": sent(COORDINATORS),
    "wrong/notices/<int:pk>/read/": sent(EVERYBODY),
    "packages/<str:code>/void/": sent(PACKERS),
    "packages/<str:code>/label.pdf": file(PACKERS, 14),
    "packages/<str:code>/label/": page(PACKERS, 15),
    "loads/": page(EVERYBODY, 14),
    "work-ahead/": page(PACKERS, 29),
    "work-ahead/board.pdf": file(PACKERS, 29),
    "wet-risk/": page(EVERYBODY, 7, also={"?as=csv": 7}),
    "wet-risk/<str:code>/": page(EVERYBODY, 10),
    "loads/begin/": sent(PACKERS),
    "loads/<int:pk>/": page(EVERYBODY, 17, PACKERS),
    "loads/<int:pk>/act/": sent(EVERYBODY),
    "recalls/": page(EVERYBODY, 5, also={"?kind=sterilizer&of=ST1": 9}),
    "recalls/hold/": sent(PACKERS),
    "recalls/<int:pk>/": page(EVERYBODY, 9),
    "recalls/<int:pk>/more/": sent(PACKERS),
    "recalls/<int:pk>/sheet.pdf": file(PACKERS, 6),
    "recalls/notices/<int:pk>/read/": sent(EVERYBODY),
    "stock/": page(COORDINATORS, 16),
    "stock/plan/": page(
        COORDINATORS, 13, also={"?sizes=100x200&pouch=1&order_pouch=9": 13}, each=1
    ),
    "stock/count/": sent(COORDINATORS),
    "stock/no-longer/": sent(COORDINATORS),
    "stock/empty/": sent(PACKERS),
    "stock/there/": sent(PACKERS),
    "lots/": page(PACKERS, 12),
    "lots/open/": sent(PACKERS),
    "lots/<int:pk>/end/": sent(PACKERS),
    "lots/workstation/": sent(PACKERS),
    "loads/<int:pk>/labels.pdf": file(PACKERS, 26, each=6),
    "loads/<int:pk>/labels/": page(PACKERS, 27, each=6),
    "equipment/": page(PACKERS, 10),
    "equipment/tests/<int:pk>/act/": sent(PACKERS),
    "equipment/<str:what>/<str:code>/": page(PACKERS, 7, also={"?month=2026-01": 6}),
    "equipment/<str:what>/<str:code>/record/": sent(PACKERS),
    "equipment/<str:what>/<str:code>/month.pdf": file(PACKERS, 9),
    "away/": page(PACKERS, 6),
    "away/send/": sent(PACKERS),
    "away/sharpened/": sent(PACKERS),
    "away/<int:pk>/act/": sent(PACKERS),
    "containers/": page(PACKERS, 8),
    "containers/add/": sent(COORDINATORS),
    "containers/<str:number>/": page(PACKERS, 8),
    "containers/<int:pk>/act/": sent(PACKERS),
    "loaners/": page(PACKERS, 6),
    "loaners/in/": sent(PACKERS),
    "loaners/<int:pk>/": page(PACKERS, 6),
    "loaners/<int:pk>/act/": sent(PACKERS),
    "packages/<str:code>/count-sheet.pdf": file(PACKERS, 12),
    "requests/<str:kind>/<int:pk>/close/": sent(PACKERS),
    "bench/settings/": sent(SIGNED_IN),
    "supplies/": page(EVERYBODY, 16, also={"?as=xlsx": 16, "?q=pouch": 16}),
    "requests/": page(EVERYBODY, 28),
    "requests/now/": part(EVERYBODY, 18),
    "requests/department/": sent(EVERYBODY),
    "requests/ask/": page(
        EVERYBODY, 14, EVERYBODY, also={"?q=forcebs": 12, "?item=T-1": 19, "?from=TS-1": 12}
    ),
    "requests/find/": part(EVERYBODY, 4),
    "requests/sources/": part(EVERYBODY, 7),
    "requests/photo/": sent(EVERYBODY),
    "requests/day/": page(EVERYBODY, 10, also={"?q=forcebs": 13, "?day=2026-01-05": 10}),
    "requests/day/add/": sent(EVERYBODY),
    "requests/day/<int:pk>/off/": sent(EVERYBODY),
    "requests/<int:pk>/": page(EVERYBODY, 17),
    "requests/<int:pk>/now/": part(EVERYBODY, 17),
    "requests/<int:pk>/act/": sent(EVERYBODY),
    "requests/<int:pk>/pack/": page(PACKERS, 24, PACKERS),
    "shelf/": page(PACKERS, 17, PACKERS, also={"?do=hand": 16}),
    "shelf/packages/": page(PACKERS, 11, also={"?as=csv": 10, "?stands=spoiled": 7}),
    "shelf/places/": page(PACKERS, 7, also={"?as=csv": 7}),
    "shelf/places/labels.pdf": file(PACKERS, 7),
    "shelf/places/labels/": page(PACKERS, 8, also={"?place=A1": 8}),
    "shelf/level/": sent(COORDINATORS),
    "shelf/spares/": sent(COORDINATORS),
    "shelf/place/": sent(COORDINATORS),
    "shelf/place/retire/": sent(COORDINATORS),
    "shelf/need/": sent(PACKERS),
    "shelf/<str:code>/off/": sent(PACKERS),
    "requests/causes/": page(EVERYBODY, 10),
    "requests/causes.csv": file(PACKERS, 6),
    "requests/back/<str:item_number>/": page(PACKERS, 7, PACKERS),
    "instruments/<str:item_number>/codes/": sent(COORDINATORS),
    "instruments/<str:item_number>/codes/<int:pk>/remove/": sent(COORDINATORS),
    "scanner/": page(EVERYBODY, 4, EVERYBODY),
    "units/": sent(SIGNED_IN),
    "instruments/<str:item_number>/label/": page(PACKERS, 10, also={"?stock=a4-3x8&start=5": 10}),
    "instruments/<str:item_number>/work-card.pdf": file(PACKERS, 9),
    "instruments/<str:item_number>/work-card/": page(PACKERS, 9, also={"?double=1": 9}),
    "sets/<str:code>/count-sheet/": page(PACKERS, 14, also={"?photos=yes": 14}),
    "sets/<str:code>/work-card.pdf": file(PACKERS, 11),
    "sets/<str:code>/work-card/": page(PACKERS, 11),
    "papers/": page(EVERYBODY, 9),
    "papers/keep/": sent(EVERYBODY),
    "papers/wall/": page(EVERYBODY, 5),
    "papers/wall/set/": sent(COORDINATORS),
    "papers/wall/temperatures.pdf": file(EVERYBODY, 8),
    "papers/wall/<slug:key>/": page(EVERYBODY, 6),
    "papers/wall/<slug:key>.pdf": file(EVERYBODY, 6),
    "papers/codes/": page(PACKERS, 6),
    "papers/new-stock/": page(COORDINATORS, 4, COORDINATORS, also={"?like=a4-3x8": 5}),
    "papers/stocks/<slug:key>/": page(COORDINATORS, 9, COORDINATORS),
    "papers/stocks/<slug:key>/use/": sent(COORDINATORS),
    "papers/stocks/<slug:key>/ruler.pdf": file(PACKERS, 5),
    "papers/count-sheets/": sent(PACKERS),
    "papers/runs/<uuid:run>/": page(PACKERS, 4),
    "papers/runs/<uuid:run>/stop/": sent(PACKERS),
    "papers/runs/<uuid:run>/file/": file(PACKERS, 4),
    "papers/stock-plan.<str:form>": file(COORDINATORS, 13, each=1),
    "papers/lists/<slug:key>/": page(EVERYBODY, 13),
    "papers/lists/<slug:key>.<str:form>": file(EVERYBODY, 13),
    "papers/skills/": page(PACKERS, 5),
    "papers/skills/<slug:key>.pdf": file(PACKERS, 5),
    "papers/skills/<slug:key>/": page(COORDINATORS, 7),
    "papers/skills/<slug:key>/record/": sent(COORDINATORS),
    "policy/": page(EVERYBODY, 6, also={"?freed=temperature_band": 11, "?q=seal": 6}),
    "policy/what-if/": page(
        COORDINATORS, 10, also={"?name=fill_limit": 10, "?name=fill_limit&value=0.6": 23}
    ),
    "policy/what-if.<str:form>": file(COORDINATORS, 18),
    "policy/set/": sent(COORDINATORS),
    "policy/preset/": sent(COORDINATORS),
    "supplies/<str:kind>/<str:code>/": page(EVERYBODY, 7),
    "supplies/<str:kind>/<str:code>/edit/": page(COORDINATORS, 8, COORDINATORS),
    "what-is-missing/": page(EVERYBODY, 6, also={"?as=csv": 6}),
    "whole-catalog.xlsx": file(EVERYBODY, 10),
    "spreadsheets/": page(COORDINATORS, 7, COORDINATORS),
    "spreadsheets/columns/": page(COORDINATORS, 4),
    "spreadsheets/blank/<str:kind>.xlsx": file(COORDINATORS, 4),
    "spreadsheets/<int:pk>/": page(COORDINATORS, 11, COORDINATORS),
    "spreadsheets/<int:pk>/columns/": page(COORDINATORS, 5, COORDINATORS),
    "spreadsheets/<int:pk>/letters/": page(COORDINATORS, 5, COORDINATORS),
    "spreadsheets/<int:pk>/progress/": part(COORDINATORS, 5),
    "spreadsheets/<int:pk>/correct/": page(COORDINATORS, 7, COORDINATORS, also={"?row=1": 6}),
    "spreadsheets/<int:pk>/apply/": page(COORDINATORS, 8, COORDINATORS),
    "spreadsheets/<int:pk>/take-back/": page(COORDINATORS, 7, COORDINATORS),
    "spreadsheets/<int:pk>/changes/": page(COORDINATORS, 8),
    "spreadsheets/<int:pk>/marked.xlsx": file(COORDINATORS, 8),
    "spreadsheets/<int:pk>/refused.xlsx": file(COORDINATORS, 7),
}

MOST_ROWS, MOST_KB = 200, 50
"""Rows that one visit reads, and thousands of bytes that it sends, where there are thirty of
everything; sign-in and permissions take 40 rows."""
LARGE: dict[str, tuple[int, int]] = {
    "sets/<str:code>/passed-over/": (150, 60),  # every container of thirty, each with its reasons
    # A question to the rules reads the whole stock; a page of lines or of values is as long.
    "": (250, 110),
    "bench/": (480, 60),
    "waits/": (250, 110),
    "instruments/<str:item_number>/": (350, 90),
    "records/": (630, 70),
    "sets/<str:code>/count-sheets/<int:revision>/edit/": (200, 135),
    "sets/<str:code>/": (450, 220),
    "builds/<int:pk>/": (350, 130),
    "builds/<int:pk>/pack/": (380, 50),
    "loads/<int:pk>/": (220, 50),
    "stock/": (220, 50),
    "loads/<int:pk>/labels/": (310, 50),
    "equipment/": (220, 100),
    "away/": (200, 85),
    "supplies/": (220, 55),
    "requests/<int:pk>/pack/": (350, 80),
    "instruments/<str:item_number>/label/": (250, 50),
    "instruments/<str:item_number>/work-card/": (220, 50),
    "sets/<str:code>/count-sheet/": (310, 50),
    "sets/<str:code>/work-card/": (250, 50),
    "papers/lists/<slug:key>/": (4510, 50),
    "policy/": (220, 310),
    "policy/what-if/": (380, 50),
    "policy/what-if.<str:form>": (380, 50),
    "sets/<str:code>/count-sheets/<int:revision>/weight/": (250, 50),
    "builds/<int:pk>/now/": (350, 50),
    "instruments/<str:item_number>/label.pdf": (220, 50),
    "sets/<str:code>/count-sheet.pdf": (310, 50),
    "loads/<int:pk>/labels.pdf": (280, 80),
    "shelf/places/labels.pdf": (200, 65),
    "instruments/<str:item_number>/work-card.pdf": (220, 50),
    "sets/<str:code>/work-card.pdf": (250, 120),
    "papers/lists/<slug:key>.<str:form>": (4510, 50),
    "whole-catalog.xlsx": (220, 50),
}
"""The rows and thousands of bytes of what takes more."""


def every_address(patterns: list[URLPattern | URLResolver] | None = None) -> list[str]:
    """The addresses that the program has, as they are declared."""
    found = []
    for one in get_resolver().url_patterns if patterns is None else patterns:
        path = str(one.pattern)
        inner = every_address(one.url_patterns) if isinstance(one, URLResolver) else [""]
        found += [path + rest for rest in inner]
    return found


def concrete(path: str, rows: dict[str, str]) -> str:
    """An address of the table with the rows of ``factories.hospital`` in it."""
    for part_, value in rows.items():
        path = path.replace(part_, value)
    return f"/{path}"


def states(kind: str) -> list[tuple[str, str]]:
    """Each address of a kind and what is asked of it, in each state that the table names."""
    return [
        (path, asked)
        for path, address in ADDRESSES.items()
        if address.kind == kind
        for asked in ("", *address.also)
    ]


def budget(path: str, asked: str, rows: int) -> int:
    """The most queries that an address may take where there are so many of everything."""
    address = ADDRESSES[path]
    return address.also.get(asked, address.queries) + address.each * (rows - 3)


def size_budget(path: str) -> tuple[int, int]:
    """The most rows and bytes of an address where there are at most thirty of everything."""
    rows, kb = LARGE.get(path, (MOST_ROWS, MOST_KB))
    return rows, kb * 1000
