"""Cards, scenes and lists of the invented hospital, for the tests."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime
from typing import Any

from assembly.rules.deciding.set_facts import SetLine
from assembly.rules.drawing.pieces import NOT_KNOWN, lain
from assembly.rules.drawing.scenes_bags import bag_scene, pouch_bag
from assembly.rules.drawing.scenes_baskets import Inside, set_scenes
from assembly.rules.drawing.scenes_sheets import wrap_scene
from assembly.rules.drawing.shapes import Scene
from assembly.rules.facts.instruments import Box, Instrument
from assembly.rules.facts.supplies import Pouch, Wrap
from assembly.rules.findings import metric
from assembly.rules.policy.values import default_policy
from reports.documents.boards import BoardDocument, BoardPart
from reports.documents.cards import Card, CardSection, Item
from reports.documents.lists import ListColumn, ListDocument, ListKind
from reports.documents.posters import Control, Fact, Panel, Poster
from reports.documents.records import EVENTS, FACTS, PackageRecord, section
from reports.drawing.posters import seals

POLICY = default_policy(date(2026, 3, 6))


def scene(outer_length: float = 200.0, outer_width: float = 110.0) -> Scene:
    """A hinged instrument in a pouch."""
    pouch = Pouch(
        code="PF-1",
        inner_width_mm=outer_width - 16,
        inner_length_mm=outer_length - 45,
        outer_width_mm=outer_width,
        outer_length_mm=outer_length,
    )
    bag = pouch_bag(pouch)
    assert bag
    instrument = Instrument(
        name="Forceps",
        length_mm=outer_length - 110,
        width_mm=outer_width - 80,
        height_mm=8.0,
        hinged=True,
    )
    piece = lain(instrument)
    assert piece
    return bag_scene(piece, [bag], POLICY, metric, (50.0, 25.0))


def wrapped() -> Scene:
    """A basin on its sheet."""
    made = wrap_scene("basin", Box(length_mm=340, width_mm=340, height_mm=130),
                      Wrap(code="W-1", width_mm=1200, length_mm=1200), "envelope", "width",
                      said=(NOT_KNOWN,))  # fmt: skip
    assert made
    return made


def in_container() -> Scene:
    """A set in a container: in layers, and from the side."""
    lines = [
        SetLine(quantity=count, instrument=Instrument(name=name, length_mm=length, width_mm=90.0,
                                                      height_mm=high))
        for count, name, length, high in ((4, "Needle holder", 180.0, 14.0),
                                          (9, "Retractor", 260.0, 40.0))
    ]  # fmt: skip
    inside = Box(length_mm=560, width_mm=265, height_mm=130)
    basket = Box(length_mm=530, width_mm=245, height_mm=90)
    return set_scenes(lines, Inside("C-1", inside, basket, rigid=True), POLICY)[0]


def record() -> PackageRecord:
    """A package that is not to be used."""
    facts = section("What it is", FACTS, [("Item", "NH-1804"), ("Packed", "6 Mar 2026")])
    recalled = ("7 Mar 2026, 9:00", "recalled", "B. Hartsop", "the load failed")
    return PackageRecord(
        "PK-000001T",
        "Needle holder, Mayo-Hegar, 18 cm",
        "RECALLED: not to be used",
        (facts, section("What happened", EVENTS, [recalled]), section("Complaints", EVENTS, [])),
    )


def poster() -> Poster:
    """Three seals to look at."""
    panels = (Panel("Smooth, whole", seals.good(), "good"), Panel("Fold", seals.fold(), "fault"),
              Panel("Then label it", seals.bubble(), 3))  # fmt: skip
    control = Control("Sterile Processing", "HF-SPD-W-0017", date(2027, 3, 6))
    return Poster("seals", "Look at every seal", panels, 3, (Fact("A seal is looked at.", "us"),),
                  headline="Fault? Repack.", control=control, foot=CARD.foot)  # fmt: skip


def skills() -> Card:
    """A sheet on which a trainer writes down what was seen."""
    steps = CardSection("Steps", (Item("Folds it on the line."), Item("Signs it.")), "number",
                        ("seen", "not yet", "n/a"))  # fmt: skip
    result = CardSection("Result", (Item("Passed"), Item("Again")), "box")
    fields = ("Trainee, name and signature", "Trainer, name and signature", "Date")
    return Card("Skills check", (steps, result), CARD.foot, sources=CARD.sources, fields=fields)


CARD = Card(
    title="Needle holder, Mayo-Hegar, 18 cm",
    code="NH-1804",
    headline="Take pouch PF-1. Steam 134 °C, 3 min.",
    sections=(
        CardSection("Pack", (Item("Hinged: lay it open."), Item("Handle first.")), "number"),
        CardSection("Check", (Item("Is it dry?", "If not: dry it."),), "box"),
        CardSection("Take care", (Item("Heat."),)),
    ),
    sources=("ISO/TS 16775:2014, annex b", "common practice, no source"),
    foot="Policy 4af1. Printed 2026-03-06 14:05 by T. Birkett.",
)


def card(**changes: Any) -> Card:
    """The example card with ``changes``."""
    return replace(CARD, **changes)


def board() -> BoardDocument:
    """A shift's board with two parts, one row of it late."""
    begin = (ListColumn("By", 1.9), ListColumn("What", 4.2), ListColumn("Takes"))
    load = (ListColumn("By", 1.9), ListColumn("Load", 5.2))
    return BoardDocument("Work ahead, 05:30 to 13:30", (
        BoardPart("Begin by", begin, (("05:18, 12 min too late", "Hip set TS-001", "25 min"),
                                      ("06:08", "Knee set TS-002", "25 min assumed"))),
        BoardPart("Start by", load, (("06:38", "ST1: Hip set, knee set"),)),
    ), "Made 05:30 by T. Birkett")  # fmt: skip


def listing(rows: int = 3, **changes: Any) -> ListDocument:
    """A list of sets, of ``rows`` rows."""
    kind = ListKind(
        "tried",
        "Sets that were tried: all of them",
        (ListColumn("Set"), ListColumn("Name", 2.0), ListColumn("Weight", 1.0, "right")),
        lambda: (),
        "Made for a test.",
    )
    made = tuple((f"TS-{n:03}", f"Set number {n}", f"{n}.00 kg") for n in range(1, rows + 1))
    usual = ListDocument(kind, made, datetime(2026, 3, 6, 14, 5), "T. Birkett")
    return replace(usual, **changes)
