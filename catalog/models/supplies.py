"""Packaging materials the department stocks, its sealers, its sterilizers and what they run."""

from __future__ import annotations

from decimal import Decimal

from django.db import models

from catalog.models.fields import (
    AIR_REMOVALS,
    FILTERS,
    LENGTH_PLACES,
    LUMEN_MATERIALS,
    MADE_OF,
    MATERIALS,
    METHODS,
    PROTECTOR_MATERIALS,
    celsius_field,
    length_field,
    minutes_field,
    months_field,
    positive_or_unknown,
    tolerance_field,
    weight_field,
)
from catalog.vocabulary import Kind


def plain(value: Decimal) -> str:
    """A stored number without its trailing zeros."""
    return f"{value.normalize():f}"


class Programme(models.Model):
    """A programme that one of the department's sterilizers really runs."""

    code = models.CharField(max_length=40, unique=True)
    name = models.CharField(max_length=120, blank=True)
    method = models.CharField(max_length=10, choices=METHODS)
    temperature_c = celsius_field("temperature")
    air_removal = models.CharField(
        "air removal", max_length=20, blank=True,
        choices=AIR_REMOVALS[:2],
        help_text="steam only; empty when not known",
    )  # fmt: skip
    come_up_min = minutes_field("come-up")
    exposure_min = minutes_field("exposure")
    drying_min = minutes_field("drying")
    cycle_name = models.CharField(
        "name of the cycle", max_length=40, blank=True,
        help_text="as the sterilizer's maker calls it; low temperature only",
    )  # fmt: skip
    active = models.BooleanField(default=True)

    class Meta:
        ordering = ["code"]
        verbose_name_plural = "cycles"

    def __str__(self) -> str:
        return self.code


class LumenClaim(models.Model):
    """One row of what a sterilizer's maker claims for lumens in a cycle."""

    programme = models.ForeignKey(Programme, models.CASCADE, related_name="claims")
    material = models.CharField(max_length=10, choices=LUMEN_MATERIALS)
    channels = models.PositiveSmallIntegerField("channels, at most", default=1)
    bore_mm = models.DecimalField("least bore", max_digits=9, decimal_places=LENGTH_PLACES)
    length_mm = models.DecimalField("greatest length", max_digits=9, decimal_places=LENGTH_PLACES)
    most_in_tray = models.PositiveSmallIntegerField("most in a tray", null=True, blank=True)
    most_in_load = models.PositiveSmallIntegerField("most in a load", null=True, blank=True)
    load_g = weight_field("greatest load")

    class Meta:
        ordering = ["programme", "pk"]
        constraints = [*positive_or_unknown("lumen_claim", "bore_mm", "length_mm", "load_g")]

    def __str__(self) -> str:
        channels = "one channel" if self.channels == 1 else f"at most {self.channels} channels"
        words = [
            f"{self.get_material_display().lower()}, {channels}, bore {plain(self.bore_mm)} mm or "
            f"more, length {plain(self.length_mm)} mm or less"
        ]
        if self.most_in_tray is not None:
            words.append(f"{self.most_in_tray} in a tray")
        if self.most_in_load is not None:
            words.append(f"{self.most_in_load} in a load")
        if self.load_g is not None:
            words.append(f"load {plain(self.load_g)} g or less")
        return ", ".join(words)


class Sterilizer(models.Model):
    """A sterilizer of the department, with the programmes that it runs."""

    code = models.CharField(max_length=20, unique=True, help_text="As it stands in lot numbers.")
    name = models.CharField(max_length=120, blank=True)
    programmes = models.ManyToManyField(
        Programme, related_name="sterilizers", blank=True, verbose_name="cycles"
    )
    shelf_length_mm = length_field("room on a shelf of its rack, length")
    shelf_width_mm = length_field("room on a shelf, width")
    shelf_height_mm = length_field("room up to the next shelf")
    shelves = models.PositiveSmallIntegerField("shelves of its rack", null=True, blank=True)
    shelf_most_g = weight_field("what a shelf may bear")
    active = models.BooleanField(default=True)

    class Meta:
        ordering = ["code"]
        constraints = [
            *positive_or_unknown(
                "sterilizer", "shelf_length_mm", "shelf_width_mm", "shelf_height_mm", "shelf_most_g"
            )
        ]

    def __str__(self) -> str:
        return self.code


class Sealer(models.Model):
    """A heat sealer of the department; what it is set to is what its last seal test read."""

    class Kind(models.TextChoices):
        ROTARY = "rotary", "Rotary"
        BAR = "bar", "Bar"

    code = models.CharField(max_length=20, unique=True, help_text="As it stands on the sealer.")
    name = models.CharField(max_length=120, blank=True)
    kind = models.CharField(max_length=10, choices=Kind, blank=True)
    place = models.CharField("where it stands", max_length=120, blank=True)
    active = models.BooleanField(default=True)

    class Meta:
        ordering = ["code"]

    def __str__(self) -> str:
        return self.code


class Supply(models.Model):
    """What every supply has."""

    code = models.CharField(max_length=40, unique=True)
    name = models.CharField(max_length=120)
    also_known_as = models.CharField("also known as", max_length=300, blank=True)
    maker = models.CharField(max_length=120, blank=True)
    ifu_reference = models.CharField("IFU", max_length=120, blank=True)
    cost = models.DecimalField(max_digits=8, decimal_places=4, null=True, blank=True)
    in_stock = models.BooleanField(default=True)

    class Meta:
        abstract = True
        ordering = ["code"]

    def __str__(self) -> str:
        return f"{self.code} {self.name}"

    @property
    def names(self) -> list[str]:
        """All that it is called: its name and the others."""
        others = [part.strip() for part in self.also_known_as.split(";")]
        return [name for name in (self.name, *others) if name]


class Packaging(Supply):
    """A supply that a package is closed with."""

    shelf_life_months = months_field("use within, months")

    class Meta(Supply.Meta):
        abstract = True


class SoftSupply(Packaging):
    """A pouch, roll or wrap: a material with the methods that its label states."""

    material = models.CharField(max_length=20, choices=MATERIALS, blank=True)
    labelled_methods = models.JSONField(
        "methods its label states", null=True, blank=True, help_text="empty when not known"
    )
    rated_g = weight_field("rated contents weight")

    class Meta(Packaging.Meta):
        abstract = True


class Pouch(SoftSupply):
    """A ready-made pouch; inner sizes from seal edge to seal edge."""

    class Closure(models.TextChoices):
        HEAT_SEAL = "heat-seal", "Heat seal"
        SELF_SEAL = "self-seal", "Self-seal"

    closure = models.CharField(max_length=10, choices=Closure, blank=True)
    inner_width_mm = length_field("inner width")
    inner_length_mm = length_field("inner length")
    outer_width_mm = length_field("outer width")
    outer_length_mm = length_field("outer length")
    weight_g = weight_field("its own weight")
    gusset_mm = models.DecimalField(
        "gusset fold depth, each side", max_digits=6, decimal_places=1, default=0
    )
    seal_temperature_c = celsius_field("seal temperature")
    seal_tolerance_c = tolerance_field()
    doubles_in = models.ManyToManyField(
        "self", symmetrical=False, blank=True, related_name="takes_inside",
        verbose_name="outer pouches its maker has validated",
    )  # fmt: skip

    class Meta(SoftSupply.Meta):
        verbose_name_plural = "pouches"
        constraints = [
            *positive_or_unknown(
                "pouch",
                "inner_width_mm",
                "inner_length_mm",
                "outer_width_mm",
                "outer_length_mm",
                "rated_g",
            ),
            models.CheckConstraint(
                condition=models.Q(gusset_mm__gte=0), name="pouch_gusset_mm_not_negative"
            ),
        ]


class Roll(SoftSupply):
    """Tubular material on a roll, cut to length and sealed at both ends."""

    nominal_width_mm = length_field("width, seals included")
    side_seal_mm = length_field("side seal, each")
    longest_cut_mm = length_field("longest cut")
    roll_length_mm = length_field("length on the roll")
    weight_g_m2 = weight_field("its own weight, both sides, per m²")
    seal_temperature_c = celsius_field("seal temperature")
    seal_tolerance_c = tolerance_field()

    class Meta(SoftSupply.Meta):
        constraints = [
            *positive_or_unknown(
                "roll", "nominal_width_mm", "side_seal_mm", "longest_cut_mm", "rated_g"
            )
        ]


class Wrap(SoftSupply):
    """A wrap sheet by its real size."""

    width_mm = length_field("width")
    length_mm = length_field("length")
    layers = models.PositiveSmallIntegerField(null=True, blank=True)
    weight_g_m2 = weight_field("its own weight, one layer, per m²")

    class Meta(SoftSupply.Meta):
        constraints = [
            *positive_or_unknown("wrap", "width_mm", "length_mm", "rated_g"),
            models.CheckConstraint(
                condition=models.Q(layers__isnull=True) | models.Q(layers__in=[1, 2]),
                name="wrap_layers_one_or_two",
            ),
        ]


class Boxed(models.Model):
    """What holds a set: its inner and outer sizes, its own weight, and what dries it."""

    inner_length_mm = length_field("inner length")
    inner_width_mm = length_field("inner width")
    inner_height_mm = length_field("inner height")
    outer_length_mm = length_field("outer length")
    outer_width_mm = length_field("outer width")
    outer_height_mm = length_field("outer height")
    tare_g = weight_field("tare")
    made_of = models.CharField("made of", max_length=10, choices=MADE_OF, blank=True)
    liner = models.BooleanField(
        "a liner that takes up moisture may lie in it", null=True, blank=True,
        help_text="by its IFU; empty when not known",
    )  # fmt: skip

    class Meta:
        abstract = True


INNER_SIZES = ("inner_length_mm", "inner_width_mm", "inner_height_mm")


class Container(Boxed, Packaging):
    """A rigid container with the programmes for which its maker has validated it."""

    rated_g = weight_field("rated weight, tare included")
    filter = models.CharField(max_length=60, blank=True)
    filter_material = models.CharField("filter is of", max_length=20, choices=FILTERS, blank=True)
    programmes = models.ManyToManyField(Programme, blank=True, verbose_name="validated cycles")

    class Meta(Supply.Meta):
        constraints = [*positive_or_unknown("container", *INNER_SIZES, "tare_g", "rated_g")]


class Basket(Boxed, Supply):
    """A basket or tray that holds a set inside a wrap or container."""

    rated_g = weight_field("rated contents weight")

    class Meta(Supply.Meta):
        constraints = [*positive_or_unknown("basket", *INNER_SIZES, "tare_g", "rated_g")]


class Protector(Supply):
    """A tip protector by its bore and length."""

    bore_mm = length_field("bore")
    length_mm = length_field("length")
    wall_mm = length_field("wall")
    vented = models.BooleanField(null=True, blank=True)
    material = models.CharField(max_length=40, choices=PROTECTOR_MATERIALS, blank=True)
    labelled_methods = models.JSONField("methods its label states", null=True, blank=True)

    class Meta(Supply.Meta):
        constraints = [*positive_or_unknown("protector", "bore_mm", "length_mm")]


PACKAGING: dict[Kind, type[Packaging]] = {
    Kind.POUCH: Pouch,
    Kind.ROLL: Roll,
    Kind.WRAP: Wrap,
    Kind.CONTAINER: Container,
}
"""The rows of each kind of package."""

AnySupply = Supply | Programme | Sterilizer | Sealer
"""What a coordinator keeps on the page of supplies."""
