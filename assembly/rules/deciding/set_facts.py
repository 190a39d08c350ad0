"""What the rules are told about a set: its lines, its basket, what it is packed in."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from assembly.rules.facts.checks import FactsError, check_numbers
from assembly.rules.facts.cycles import Programme
from assembly.rules.facts.instruments import Box, Instrument
from assembly.rules.facts.supplies import Container, Emptied, Protector, Wrap
from assembly.rules.limits.weights import Piece, Weighing


@dataclass(frozen=True, slots=True, kw_only=True)
class SetLine:
    """One line of the count sheet."""

    quantity: int
    instrument: Instrument
    item_number: str = ""
    section: str = ""

    def __post_init__(self) -> None:
        if isinstance(self.quantity, bool) or self.quantity < 1:
            raise FactsError("quantity", self.quantity, "a line counts 1 or more")

    @property
    def piece(self) -> Piece:
        weight = self.instrument.weight_g
        return Piece(name=self.instrument.name, quantity=self.quantity, weight_g=weight)


@dataclass(frozen=True, kw_only=True)
class Basket:
    """The basket that holds the set; ``rated_g`` is what it may hold.

    :func:`outside` is what it takes up.
    """

    code: str
    inner_length_mm: float | None = None
    inner_width_mm: float | None = None
    inner_height_mm: float | None = None
    outer_length_mm: float | None = None
    outer_width_mm: float | None = None
    outer_height_mm: float | None = None
    tare_g: float | None = None
    rated_g: float | None = None

    def __post_init__(self) -> None:
        check_numbers(self)

    @cached_property
    def box(self) -> Box:
        return Box.of(self, "inner_")


@dataclass(frozen=True, kw_only=True)
class SetQuestion:
    """All that a decision about a set is asked with.

    ``packed_in`` is the code of the container or wrap on the set's record, ``pack`` the closed
    pack as measured, where that is not the basket. ``reading`` is a
    scale's reading of the closed package, which replaces the sum for ``weighed_in``, the
    container or wrap it was weighed in (None: that on record). ``pouches_inside`` says
    whether film pouches lie in the set, ``pouches_validated`` whether their maker has
    validated that and the department tested it. ``ifu_received`` is None for what is the
    department's own, else whether the IFU came with what is lent. ``out`` are the boxes that are
    empty now.
    """

    lines: tuple[SetLine, ...]
    supplies: tuple[Container | Wrap, ...]
    basket: Basket | None = None
    pack: Box | None = None
    programmes: tuple[Programme, ...] | None = None
    chosen: Programme | None = None
    packed_in: str | None = None
    reading: Weighing | None = None
    weighed_in: str | None = None
    protectors: tuple[Protector, ...] | None = None
    pouches_inside: bool = False
    pouches_validated: bool | None = None
    ifu_received: bool | None = None
    out: tuple[Emptied, ...] = ()

    @property
    def weighed(self) -> str | None:
        """The code of what the reading belongs to; None where nobody said."""
        return self.weighed_in or self.packed_in

    @cached_property
    def instruments(self) -> tuple[Instrument, ...]:
        return tuple(line.instrument for line in self.lines)
