"""A plan of sizes as a page, a paper and a file say it: the curve, what each size is used for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from assembly.rules.drawing.shapes import LINE, Polyline, Rect, Scene, Shape, Text
from assembly.rules.stock.stock_plan import Plan, Use
from assembly.stock.planning import Demand, Planned, Side, a_year
from catalog.vocabulary import Kind

MM2_IN_M2, MM_IN_M = 1e6, 1e3
NAMES = {Kind.POUCH: "Pouches", Kind.ROLL: "Rolls"}


@dataclass(frozen=True, slots=True)
class CurveRow:
    """One number of sizes. ``saves``: less material than with one size fewer; ``today``: than what
    is in stock takes, with the money where all prices are on record."""

    k: int
    codes: tuple[str, ...]
    material: str
    saves: str
    money: str
    today: str
    proof: str


@dataclass(frozen=True, slots=True)
class UseRow:
    """One size of a plan. ``few``: less is used of it in a year than is ordered at least."""

    code: str
    packages: int
    used: str
    material: str
    money: str
    mostly: str
    without: str
    few: str


def m2(mm2: float | None) -> str:
    """An area in m², laid flat; "–" where there is none to tell.

    >>> m2(1_234_567.0), m2(None)
    ('1.23', '–')
    """
    return "–" if mm2 is None else f"{mm2 / MM2_IN_M2:,.2f}"


def money_words(money: float | None) -> str:
    """What it costs, as prices are on record: without a currency."""
    return "–" if money is None else f"{money:,.2f}"


def curve_rows(side: Side) -> Iterator[CurveRow]:
    """A row for each number of sizes, the fewest first."""
    before: float | None = None
    for plan in side.plans:
        takes = plan.material_mm2
        saves = "" if takes is None or not before else f"{100 * (before - takes) / before:.1f} %"
        yield CurveRow(plan.k, plan.codes, m2(takes), saves, money_words(plan.money),
                       _against(plan, side.today), _proof(plan))  # fmt: skip
        before = takes


def _against(plan: Plan, today: Plan) -> str:
    if not today.material_mm2 or plan.material_mm2 is None:
        return ""
    words = _more(plan.material_mm2 - today.material_mm2, today.material_mm2)
    if plan.money is None or today.money is None:
        return words
    return f"{words}{_cost(plan.money - today.money)}"


def _cost(change: float | None) -> str:
    """A change of what it costs, as the end of a sentence.

    >>> _cost(2.5), _cost(-1234.567), _cost(0.001), _cost(None)
    (', cost 2.50 more', ', cost 1,234.57 less', '', '')
    """
    more = round(change or 0.0, 2)
    return f", cost {abs(more):,.2f} {'more' if more > 0 else 'less'}" if more else ""


def _more(change: float, of: float) -> str:
    """A change as a share of what it was.

    >>> _more(3, 100), _more(-12.34, 100), _more(-0.01, 100)
    ('3.0 % more', '12.3 % less', 'no more')
    """
    share = round(100 * change / of, 1)
    return f"{abs(share):.1f} % {'more' if share > 0 else 'less'}" if share else "no more"


def _proof(plan: Plan) -> str:
    if plan.lost:
        return "cover not all" if plan.proved else "none found that cover all; not proved"
    if plan.proved:
        return "proved"
    return f"not proved: at least {m2(plan.bound_mm2)} m²"


def use_rows(plan: Plan, side: Side, demand: Demand, order: int | None) -> Iterator[UseRow]:
    """A row for each size. ``order`` is the least that is ordered of one: pouches, or m of roll."""
    roll = side.sizes.kind is Kind.ROLL
    for use in plan.uses:
        used = use.amount / MM_IN_M if roll else use.amount
        yearly = a_year(used, demand)
        few = order is not None and yearly is not None and yearly < order
        yield UseRow(
            use.code,
            use.packages,
            f"{used:,.1f} m" if roll else f"{used:,.0f}",
            m2(use.material_mm2),
            money_words(use.money),
            ", ".join(f"{one.number} × {one.count}" for one in use.most),
            _without(use, plan),
            f"{yearly:,.0f} a year, at least {order:,} are ordered" if few else "",
        )


def _without(use: Use, plan: Plan) -> str:
    """What happens if this size is dropped and the others stay.

    >>> _without(Use("P", 0, 0, 0, None, (), 0, None, 0), Plan(1, (), 0))
    'nothing changes'
    """
    said = [f"{use.lost:,} without any"] if use.lost else []
    if use.more_mm2:
        takes = sum(one.material_mm2 for one in plan.uses)
        said.append(f"{m2(use.more_mm2)} m² more ({100 * use.more_mm2 / takes:.1f} %)"
                    f"{_cost(use.more_money)}")  # fmt: skip
    return ", ".join(said) or "nothing changes"


def headline(side: Side) -> str:
    """How what is in stock stands against the least, in one sentence."""
    today, fewest = side.today, side.fewest
    if not side.plans:
        return "Nothing to cover."
    if today.lost:
        return (f"{len(today.codes)} in stock leave {today.lost:,} packages without any that "
                "serves.")  # fmt: skip
    said = f"{len(today.codes)} in stock take {m2(today.material_mm2)} m²."
    if fewest is not None and fewest.k < len(today.codes):
        said += f" {fewest.k} would take no more: {m2(fewest.material_mm2)} m²."
    return said


# --- the curve, drawn -----------------------------------------------------------------------

WIDTH_MM = 83.0
LETTER_MM = WIDTH_MM / LINE
STEP_MM, HEAD_MM = 1.55 * LETTER_MM, 2.1 * LETTER_MM
BAR_FROM_MM, BAR_TO_MM = 3.4 * LETTER_MM, 20.0 * LETTER_MM


def plots(found: Planned) -> tuple[Scene, ...]:
    """A bar for each number of sizes, its material beside it: one plot for each kind."""
    return tuple(_plot(side) for side in found.sides if any(not one.lost for one in side.plans))


def _plot(side: Side) -> Scene:
    bars = [("now", side.today.material_mm2)]
    bars += [(str(plan.k), plan.material_mm2) for plan in side.plans]
    title = f"{NAMES[side.sizes.kind]}: m² by how many sizes"
    most = max(mm2 or 0.0 for _, mm2 in bars)
    shapes: list[Shape] = [Text(0.0, 1.1 * LETTER_MM, title, "figure", "start")]
    for place, (name, mm2) in enumerate(bars):
        top = HEAD_MM + place * STEP_MM
        base = top + 1.1 * LETTER_MM
        shapes += [Text(0.0, base, name, "word", "start"),
                   Text(WIDTH_MM, base, m2(mm2), "figure", "end")]  # fmt: skip
        if mm2:
            wide = (BAR_TO_MM - BAR_FROM_MM) * mm2 / most
            shapes.append(Rect(BAR_FROM_MM, top + 0.2 * LETTER_MM, wide, 1.05 * LETTER_MM, "seal"))
    bottom = HEAD_MM + len(bars) * STEP_MM
    shapes.append(Polyline(((BAR_FROM_MM, HEAD_MM), (BAR_FROM_MM, bottom)), "dimension"))
    said = "; ".join(f"{name} {m2(mm2)}" for name, mm2 in bars)
    return Scene(WIDTH_MM, bottom + 0.3 * LETTER_MM, LETTER_MM, tuple(shapes), title,
                 f"Material in m², as it is now and by the number of sizes: {said}")  # fmt: skip
