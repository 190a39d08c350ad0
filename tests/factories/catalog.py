"""Catalog rows, valid by default, numbered in sequence."""

from __future__ import annotations

import hashlib

import factory

from catalog import models


class Instrument(factory.django.DjangoModelFactory):
    """Blunt ring-handled forceps with one steam cycle."""

    class Meta:
        model = models.Instrument
        skip_postgeneration_save = True

    item_number = factory.Sequence(lambda n: f"T-{1000 + n}")
    name = factory.Sequence(lambda n: f"Test forceps no. {n}")
    length_mm = 140
    width_mm = 68
    height_mm = 11
    weight_g = 40
    tip = "blunt"
    protector = ""
    hinged = True

    @factory.post_generation
    def cycles(self, create: bool, extracted: object, **kwargs: object) -> None:
        if extracted is None:
            CycleOption(instrument=self)


class CycleOption(factory.django.DjangoModelFactory):
    class Meta:
        model = models.CycleOption

    instrument = factory.SubFactory(Instrument)
    order = factory.Sequence(lambda n: n)
    method = "steam"
    temperature_c = 134
    exposure_min = 3
    exposure_max = 18
    drying_min = 20


class Pouch(factory.django.DjangoModelFactory):
    """A flat paper and film pouch, 150 by 300 mm outside."""

    class Meta:
        model = models.Pouch

    code = factory.Sequence(lambda n: f"P-{n}")
    name = factory.LazyAttribute(lambda pouch: f"Pouch {pouch.code}")
    material = "paper-film"
    closure = "heat-seal"
    outer_width_mm = 150
    outer_length_mm = 300
    inner_width_mm = 134
    inner_length_mm = 255
    rated_g = 400


class Container(factory.django.DjangoModelFactory):
    class Meta:
        model = models.Container

    code = factory.Sequence(lambda n: f"C-{n}")
    name = factory.LazyAttribute(lambda container: f"Container {container.code}")
    inner_length_mm = 560
    inner_width_mm = 265
    inner_height_mm = 130
    tare_g = 3200
    rated_g = 11300


class InstrumentSet(factory.django.DjangoModelFactory):
    class Meta:
        model = models.InstrumentSet

    code = factory.Sequence(lambda n: f"TS-{1000 + n}")
    name = factory.Sequence(lambda n: f"Test set {n}")
    service = "General surgery"
    container = factory.SubFactory(Container)


class CountSheet(factory.django.DjangoModelFactory):
    """A current revision, without lines."""

    class Meta:
        model = models.CountSheet

    instrument_set = factory.SubFactory(InstrumentSet)
    revision = 1
    state = "current"
    approved_by = "a coordinator"


class Line(factory.django.DjangoModelFactory):
    class Meta:
        model = models.Line

    count_sheet = factory.SubFactory(CountSheet)
    order = factory.Sequence(lambda n: n)
    instrument = factory.SubFactory(Instrument)
    quantity = 2


class SpreadsheetBatch(factory.django.DjangoModelFactory):
    """An uploaded list of one instrument, not looked at yet."""

    class Meta:
        model = models.SpreadsheetBatch

    file_name = "list.csv"
    content = b"Item #,Name\nHF-1,Probe\n"
    sha256 = factory.LazyAttribute(lambda batch: hashlib.sha256(batch.content).hexdigest())
    kind = "instruments"
    by = "a coordinator"


def stocked_protectors() -> None:
    """The tip protectors that the demo's master list names."""
    for size in ("small", "medium", "14 mm", "22 mm", "wide"):
        models.Protector.objects.create(code=f"TP-{size}", name=f"vented, {size}")
