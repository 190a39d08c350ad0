"""The question: all that a decision about one package is asked with."""

from __future__ import annotations

from dataclasses import dataclass

from assembly.rules.facts.checks import FactsError
from assembly.rules.facts.cycles import Programme
from assembly.rules.facts.instruments import Box, Instrument
from assembly.rules.facts.supplies import Emptied, Protector, Supply
from catalog.vocabulary import Fold


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """All that a decision about one package is asked with.

    ``programmes`` None: the department's programmes are not part of the question.
    ``pack`` is what is wrapped where that is not the instrument's own box (a tray, say).
    ``ifu_received`` is None for what is the department's own, else whether the IFU came with what
    is lent. ``double`` asks for a double pouch; ``fold`` fixes the fold of a wrap. ``protectors``
    are those in stock, None where they are not part of the question. ``chosen`` is the
    programme a person wants: it is asked by itself, and what the IFU says to it is found apart.
    ``out`` are the boxes that are empty now.
    """

    instrument: Instrument
    supplies: tuple[Supply, ...]
    programmes: tuple[Programme, ...] | None = None
    chosen: Programme | None = None
    pack: Box | None = None
    double: bool = False
    fold: Fold | None = None
    protectors: tuple[Protector, ...] | None = None
    ifu_received: bool | None = None
    out: tuple[Emptied, ...] = ()

    def __post_init__(self) -> None:
        codes: set[str] = set()
        for supply in self.supplies:
            if supply.code in codes:
                raise FactsError("code", supply.code, "two supplies bear this code: rename one")
            codes.add(supply.code)
