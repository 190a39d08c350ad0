"""Instruments, and the box that anything takes up as it lies."""

from __future__ import annotations

from dataclasses import dataclass

from assembly.rules.facts.checks import check_numbers, derived, product
from assembly.rules.facts.cycles import Contents, CycleOption, contents
from assembly.rules.facts.declared import Declared, declared, fact
from catalog.vocabulary import Form, ItemClass, Kind, LumenMaterial, Method

SIZES = ("length_mm", "width_mm", "height_mm")


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """An object's box as it lies: ``height_mm`` is what stands up from the table."""

    length_mm: float | None = None
    width_mm: float | None = None
    height_mm: float | None = None

    def __post_init__(self) -> None:
        check_numbers(self)

    @classmethod
    def of(cls, thing: object, side: str = "") -> Box:
        """The sizes (mm) of a fact, checked with it; ``side`` says which, such as ``inner_``."""
        made = object.__new__(cls)
        for name in SIZES:
            object.__setattr__(made, name, getattr(thing, side + name))
        return made

    @property
    def sizes(self) -> tuple[float | None, ...]:
        """Length, width and height (mm)."""
        return self.length_mm, self.width_mm, self.height_mm

    @property
    def missing(self) -> tuple[str, ...]:
        """The names of the sizes that are not known."""
        return tuple(name for name in SIZES if getattr(self, name) is None)

    @property
    def volume_mm3(self) -> float | None:
        """Length by width by height; None where one is unknown."""
        return product(*self.sizes)

    @property
    def area_mm2(self) -> float | None:
        """Length by width; None where one is unknown."""
        return product(self.length_mm, self.width_mm)

    def plus(self, length: float = 0.0, width: float = 0.0, height: float = 0.0) -> Box:
        """The box that is larger by so much (mm); what is unknown stays so."""
        more = zip(SIZES, self.sizes, (length, width, height), strict=True)
        return derived(self, **{n: None if size is None else size + by for n, size, by in more})


@dataclass(frozen=True, slots=True, kw_only=True)
class Instrument:
    """One instrument as it will lie in the package, ratchet and protector included.

    ``sharp``, ``hinged``, ``ratchet``, ``hollow`` and ``parts`` (comes apart) are None when
    the record does not say. ``protector`` is the
    protector's description, ``""`` where the record says none, None where it says nothing.
    ``forbids`` holds the kinds of package that the maker's instructions rule out. With more
    than one of ``pieces`` the sizes and the weight are those of all, lying side by side.
    ``width_mm`` is across it closed, ``width_open_mm`` as a hinged one lies open.
    """

    name: str
    length_mm: float | None = fact(missing="length", asked=True)
    width_mm: float | None = fact(missing="width", asked=True)
    height_mm: float | None = fact(missing="height", asked=True)
    weight_g: float | None = fact(missing="weight", asked=True)
    sharp: bool | None = fact(missing="tip", asked=True)
    protector: str | None = fact(missing="protector")
    tip_across_mm: float | None = None
    tip_cover_mm: float | None = None
    hinged: bool | None = fact(missing="hinged or not", asked=True)
    ratchet: bool | None = None
    hollow: bool | None = None
    parts: bool | None = None
    round_section: bool = False
    lumen_mm: float | None = None
    lumen_length_mm: float | None = None
    lumen_material: LumenMaterial | None = None
    channels: int | None = None
    form: Form | None = None
    width_open_mm: float | None = fact(missing="width, open")
    lies_only_as_given: bool | None = None
    forbids: frozenset[Kind] = frozenset()
    cycles: tuple[CycleOption, ...] = fact((), missing="a cycle", asked=True)
    item_class: ItemClass = ItemClass.INSTRUMENTS
    pieces: int = 1

    def __post_init__(self) -> None:
        check_numbers(self)

    @property
    def box(self) -> Box:
        return Box.of(self)

    @property
    def opens(self) -> bool:
        """Whether it lies open: hinged on record, or by its rings or its width open."""
        if self.hinged is not None:
            return self.hinged
        return self.form is Form.RINGS or self.width_open_mm is not None

    @property
    def not_on_record(self) -> tuple[Declared, ...]:
        """The facts not on record that some decision asks for; a width open of what opens."""
        return tuple(
            one for one in declared(Instrument)
            if one.missing and getattr(self, one.name) in (None, ())
            and (self.opens or one.name != "width_open_mm")
        )  # fmt: skip

    @property
    def contents(self) -> Contents:
        """What its cycles' times turn on."""
        lumen = self.lumen_mm is not None or self.lumen_length_mm is not None
        return contents(self.item_class, lumen, self.form in (Form.SCOPE, Form.POWERED))

    @property
    def methods(self) -> tuple[Method, ...]:
        """The methods its cycles name, in their order, each once."""
        return tuple(dict.fromkeys(cycle.method for cycle in self.cycles))
