"""What a package used up: packaging, indicators, protectors, its label. Written as it is packed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from assembly.judging.decisions import Answer, SetAnswer
from assembly.judging.taking import Option, supplies_in
from assembly.ledger import inside
from assembly.models import OwnContainer, Package, SupplyLot, SupplyUse
from assembly.rules.deciding.protection import protectors_named
from assembly.rules.facts.supplies import Container, Wrap
from assembly.rules.telling.guidance import Guidance
from catalog.vocabulary import Filter, Fold, Kind

Uses = Sequence[Mapping[str, Any]]
"""As plain JSON: each supply by its key, with how many, and of a roll how long a piece (mm)."""
LABEL = "label:package"
SHEETS_IN_A_PACK = 2


def uses_of(answer: Answer | SetAnswer, option: Option, guidance: Guidance) -> list[dict[str, Any]]:
    """What closing it so uses up.

    A container uses its filter once; how many it takes is not on record. Of a protector that
    comes in several sizes under one name, which one is not on record: it stands under the name.
    """
    found: list[dict[str, Any]] = [{"supply": LABEL, "amount": 1}]
    found += _packaging(answer, option)
    if method := option.candidate.method:
        # One of them is outside, printed on the packaging or on its tape.
        inside_it = len(guidance.indicators) - 1
        found.append({"supply": f"indicator:{method}", "amount": inside_it})
    return found + _protectors(answer)


def _packaging(answer: Answer | SetAnswer, option: Option) -> list[dict[str, Any]]:
    candidate = option.candidate
    others = candidate.with_codes if candidate.kind == Kind.POUCH else ()
    found: list[dict[str, Any]] = []
    for code in (candidate.code, *others):
        supply = next((one for one in answer.question.supplies if one.code == code), None)
        one = {"supply": f"{candidate.kind}:{code}", "amount": 1}
        if isinstance(supply, Wrap):
            one["amount"] = SHEETS_IN_A_PACK // (supply.layers or SHEETS_IN_A_PACK)
        if isinstance(supply, Container):
            if supply.filter_material is Filter.VALVE:
                continue
            one["supply"] = f"filter:{code}"
        if length := candidate.details.get("cut_length_mm"):
            one["mm"] = length
        found.append(one)
    return found


def _protectors(answer: Answer | SetAnswer) -> list[dict[str, Any]]:
    question = answer.question
    if isinstance(answer, SetAnswer):
        worn = [(one.instrument.protector, one.quantity) for one in answer.question.lines]
    else:
        worn = [(answer.question.instrument.protector, answer.pieces)]
    found: dict[str, int] = {}
    for name, pieces in worn:
        if name:
            named = protectors_named(name, question.protectors or ())
            key = named[0].key if len(named) == 1 else f"protector:{name}"
            found[key[:60]] = found.get(key[:60], 0) + pieces
    return [{"supply": key, "amount": amount} for key, amount in found.items()]


def uses_before(taken: str, serves: Mapping[str, Any]) -> Uses:
    """What a set used up that was packed before its uses were on record: as far as can be told."""
    kind, codes = supplies_in(taken)
    found = [{"supply": f"{kind}:{code}", "amount": 1} for code in codes if code not in list(Fold)]
    if method := serves.get("indicators"):
        found.append({"supply": f"indicator:{method}", "amount": 1})
    return found


def uses_in(own: OwnContainer | None, uses: Uses) -> Uses:
    """The same without a filter, where the one of the container stays in or it has a valve."""
    stays = own is not None and own.filter_kind in (own.Filter.STAYS, own.Filter.VALVE)
    return without_filters(uses) if stays else uses


def without_filters(uses: Uses) -> Uses:
    """The same but for filters."""
    return [one for one in uses if not one["supply"].startswith("filter:")]


@inside
def write_uses(package: Package, uses: Uses, lots: Iterable[SupplyLot]) -> None:
    """The uses of a package on record, each with its lot where one alone was in use."""
    by_supply: dict[str, list[str]] = {}
    for one in lots:
        by_supply.setdefault(one.supply, []).append(one.lot)
    SupplyUse.objects.bulk_create(
        SupplyUse(
            package=package, supply=one["supply"], amount=one["amount"], length_mm=one.get("mm"),
            lot=known[0] if len(known := by_supply.get(one["supply"], [])) == 1 else "",
        )
        for one in uses if one["amount"]
    )  # fmt: skip
