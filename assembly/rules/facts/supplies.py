"""Supplies: every packaging material that a department stocks."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from assembly.rules.facts.checks import FactsError, check_numbers, product
from assembly.rules.facts.instruments import Box
from catalog.vocabulary import Filter, Kind, Material, Method, ProtectorMaterial

MM2_IN_M2 = 1_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Pouch:
    """A ready-made pouch. Inner sizes run from seal edge to seal edge, laid flat.

    ``gusset_mm`` is the fold depth of the pleat at each side, 0 for a flat pouch.
    ``doubles_in`` names the outer pouches for which its maker has validated doubling.
    ``methods`` is what its label states, where known; it only ever narrows the material.
    """

    code: str
    inner_width_mm: float | None = None
    inner_length_mm: float | None = None
    outer_width_mm: float | None = None
    outer_length_mm: float | None = None
    weight_g: float | None = None
    gusset_mm: float = 0.0
    material: Material | None = None
    closure: str | None = None
    rated_g: float | None = None
    cost: float | None = None
    doubles_in: tuple[str, ...] = ()
    methods: frozenset[Method] | None = None

    kind = Kind.POUCH

    def __post_init__(self) -> None:
        check_numbers(self)
        for side in ("width", "length"):
            inner = getattr(self, f"inner_{side}_mm")
            outer = getattr(self, f"outer_{side}_mm")
            if inner is not None and outer is not None and inner > outer:
                raise FactsError(
                    f"inner_{side}_mm", inner, f"it is more than the outer {side} ({outer:g})"
                )

    @property
    def opened_width_mm(self) -> float | None:
        """Inner width with the pleats opened (W + 2g)."""
        return None if self.inner_width_mm is None else self.inner_width_mm + 2 * self.gusset_mm

    @property
    def material_mm2(self) -> float | None:
        """Material used (mm2): both sheets, pleats included, outer size where it is known."""
        width = self.outer_width_mm or self.inner_width_mm
        length = self.outer_length_mm or self.inner_length_mm
        return None if width is None else product(2, width + 2 * self.gusset_mm, length)


@dataclass(frozen=True, slots=True, kw_only=True)
class Roll:
    """Tubular material cut to length; ``nominal_width_mm`` includes both side seals.

    ``weight_g_m2`` is of both sides together.
    """

    code: str
    nominal_width_mm: float | None = None
    side_seal_mm: float | None = None
    gusset_mm: float = 0.0
    material: Material | None = None
    rated_g: float | None = None
    longest_cut_mm: float | None = None
    roll_length_mm: float | None = None
    weight_g_m2: float | None = None
    cost: float | None = None
    methods: frozenset[Method] | None = None

    kind = Kind.ROLL

    def __post_init__(self) -> None:
        check_numbers(self)

    def material_mm2(self, cut_mm: float | None) -> float | None:
        """Roll used for a piece (mm2): nominal width, pleats included, counted once."""
        width = self.nominal_width_mm
        return None if width is None else product(width + 2 * self.gusset_mm, cut_mm)

    def piece_g(self, cut_mm: float | None) -> float | None:
        """What a piece of this length weighs (g)."""
        return product(self.material_mm2(cut_mm), 1 / MM2_IN_M2, self.weight_g_m2)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wrap:
    """A wrap sheet by its real size: a 30 in sheet is 762 mm, a 750 mm sheet is 750 mm.

    ``weight_g_m2`` is of one layer; a pack has two, of one bonded sheet or of two.
    """

    code: str
    width_mm: float | None = None
    length_mm: float | None = None
    material: Material | None = None
    rated_g: float | None = None
    layers: int | None = None
    weight_g_m2: float | None = None
    cost: float | None = None
    methods: frozenset[Method] | None = None

    kind = Kind.WRAP

    def __post_init__(self) -> None:
        check_numbers(self)
        if isinstance(self.layers, bool) or self.layers not in (None, 1, 2):
            raise FactsError("layers", self.layers, "a wrap has 1 or 2 layers")

    @property
    def pack_g(self) -> float | None:
        """What both layers round a pack weigh (g)."""
        return product(2, self.area_mm2, 1 / MM2_IN_M2, self.weight_g_m2)

    @property
    def area_mm2(self) -> float | None:
        return product(self.width_mm, self.length_mm)


@dataclass(frozen=True, kw_only=True)
class Container:
    """A rigid container. ``rated_g`` is its maker's limit on contents and tare together.

    ``filter_material`` is what its filter is made of, None when not on record.

    ``programmes`` names the programmes its maker has validated; None when unknown.
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
    programmes: tuple[str, ...] | None = None
    filter_material: Filter | None = None
    cost: float | None = None

    kind = Kind.CONTAINER

    def __post_init__(self) -> None:
        check_numbers(self)

    @cached_property
    def inside(self) -> Box:
        return Box.of(self, "inner_")


Supply = Pouch | Roll | Wrap | Container
SUPPLIES: dict[Kind, type[Supply]] = {make.kind: make for make in (Pouch, Roll, Wrap, Container)}
"""The facts of each kind of package."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Protector:
    """A tip protector as stocked. ``bore_mm`` is the free opening, ``wall_mm`` one wall.

    ``name`` is how instruments call it; ``methods`` is what its label names, None when
    not known.
    """

    code: str
    name: str = ""
    bore_mm: float | None = None
    length_mm: float | None = None
    wall_mm: float | None = None
    vented: bool | None = None
    methods: frozenset[Method] | None = None
    material: ProtectorMaterial | None = None
    cost: float | None = None

    def __post_init__(self) -> None:
        check_numbers(self)

    @property
    def key(self) -> str:
        """What it is called among all supplies."""
        return f"protector:{self.code}"


@dataclass(frozen=True, slots=True)
class Emptied:
    """A box that is empty: its supply by kind and code (``pouch:P-1``) or as the indicators of a
    method (``indicator:steam``), its name, and who said so, when."""

    supply: str
    name: str
    said: str = ""
