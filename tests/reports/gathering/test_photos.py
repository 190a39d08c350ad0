"""Photographs on count sheets: small, once, and never a reason not to print."""

from __future__ import annotations

import io

import pypdfium2
import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.core.management import call_command
from PIL import Image

from catalog import photos as kept
from catalog.models import Instrument, InstrumentSet
from reports.drawing.sheets.count_sheets import draw_count_sheet
from reports.gathering.count_sheets import (
    built_sheet_document,
    count_sheet_document,
    count_sheet_documents,
    remarks,
)
from reports.gathering.photos import MOST_NAMED, Photos, unread_words
from tests.factories import bench
from tests.factories import catalog as make
from tests.factories.pictures import picture
from tests.reports.examples import draw_count_sheets, page_texts, squeezed

pytestmark = pytest.mark.django_db
IMAGE = 3  # pdfium's number for picture objects
WIDE, TALL = (900, 300), (300, 900)


@pytest.fixture(autouse=True)
def folder(settings, tmp_path):
    settings.MEDIA_ROOT = str(tmp_path / "media")
    settings.PRINT_FOLDER = str(tmp_path / "runs")


def stored(size: tuple[int, int]) -> str:
    """A photograph as the program keeps it; its name."""
    out = io.BytesIO()
    Image.effect_noise(size, 60).convert("RGB").save(out, "PNG")
    return kept.keep(kept.made_anew(out.getvalue()))


def a_set(code: str = "TS-1", **photos: str) -> InstrumentSet:
    """A set with an instrument for each name; its photograph is the value."""
    sheet = make.CountSheet(instrument_set__code=code)
    for order, (number, photo) in enumerate(photos.items(), start=1):
        instrument, _ = Instrument.objects.get_or_create(
            item_number=number, defaults={"name": f"Forceps {number}", "photo": photo}
        )
        make.Line(count_sheet=sheet, order=order, instrument=instrument)
    return sheet.instrument_set


def drawn(one: InstrumentSet) -> bytes:
    return draw_count_sheet(count_sheet_document(one, "T. Birkett", photos=Photos()))


def sizes_mm(pdf: bytes, page: int = 0) -> list[tuple[float, float]]:
    """Width and height of each picture on a page as it is printed, from the top."""
    found = pypdfium2.PdfDocument(pdf)[page].get_objects(filter=[IMAGE])
    boxes = sorted((item.get_bounds() for item in found), key=lambda box: -box[3])
    return [((b[2] - b[0]) * 25.4 / 72, (b[3] - b[1]) * 25.4 / 72) for b in boxes]


def test_photos_stand_on_the_page_at_their_size():
    one = a_set(A1=stored(WIDE), A2=stored(TALL))
    wide, tall = sizes_mm(drawn(one))
    assert wide == pytest.approx((22.8, 7.6), abs=0.1)
    assert tall == pytest.approx((5.0, 15.0), abs=0.1)


def test_without_asking_there_are_none():
    document = count_sheet_document(a_set(A1=stored(WIDE)), "T. Birkett")
    assert sizes_mm(draw_count_sheet(document)) == []


def test_a_photo_is_small_in_the_file():
    one = a_set(A1=stored((1600, 1200)))
    (image,) = pypdfium2.PdfDocument(drawn(one))[0].get_objects(filter=[IMAGE])
    assert max(image.get_px_size()) <= 300


def test_a_photo_goes_in_as_jpeg():
    (image,) = pypdfium2.PdfDocument(drawn(a_set(A1=stored(WIDE))))[0].get_objects(filter=[IMAGE])
    assert image.get_filters() == ["DCTDecode"]


def test_a_photo_of_many_lines_is_in_the_file_once():
    photo = stored(WIDE)
    sets = [a_set(f"TS-{n}", A1=photo, **{f"B{n}": photo}) for n in range(5)]
    pdf = draw_count_sheets(count_sheet_documents(sets, "T. Birkett", [], Photos()))
    assert (pdf.count(b"/Subtype /Image"), len(sizes_mm(pdf, page=5))) == (1, 2)


def test_a_line_without_a_photo_stays_beside_one_with():
    one = a_set(A1="", A2=stored(WIDE))
    text = page_texts(drawn(one))[0]
    assert "Forceps A1" in text and "could not be read" not in text


def missing() -> str:
    name = stored(WIDE)
    default_storage.delete(name)
    return name


def saved(data: bytes) -> str:
    return default_storage.save("instruments/broken.jpg", ContentFile(data))


BROKEN = {
    "missing": missing,
    "empty": lambda: saved(b""),
    "no picture": lambda: saved(b"<svg xmlns='http://www.w3.org/2000/svg'/>"),
    "cut off": lambda: saved(picture(400, 400, "JPEG")[:600]),
    "outside the folder": lambda: "../../etc/passwd",
    "a folder": lambda: (saved(b""), "instruments")[1],
}


@pytest.mark.parametrize("broken", BROKEN.values(), ids=list(BROKEN))
def test_a_photo_that_cannot_be_read_is_named_and_the_rest_printed(broken):
    one = a_set(A1=broken(), A2=stored(WIDE))
    pdf = drawn(one)
    assert squeezed("1 photo could not be read, and its line is printed without: A1.") in squeezed(
        page_texts(pdf)[0]
    )
    assert len(sizes_mm(pdf)) == 1


def test_many_that_cannot_be_read_are_counted():
    words = unread_words([f"A{n}" for n in range(MOST_NAMED + 3)])
    assert words.startswith("15 photos") and words.endswith("A11 and 3 more.")


def test_a_run_names_every_photo_it_could_not_read_once():
    photos, left_out = Photos(), ["TS-9: no sheet."]
    sets = [a_set("TS-1", A1=missing()), a_set("TS-2", A1=""), a_set("TS-3", B1=missing())]
    list(count_sheet_documents(sets, "T. Birkett", left_out, photos))
    assert list(remarks(left_out, photos)) == ["TS-9: no sheet.", unread_words(["A1", "B1"])]


def test_a_photo_is_read_once_in_a_run(monkeypatch):
    asked: list[str] = []
    real = default_storage.open
    monkeypatch.setattr(default_storage, "open", lambda name: (asked.append(name), real(name))[1])
    sets = [a_set(f"TS-{n}", A1=stored(WIDE)) for n in range(3)]
    list(count_sheet_documents(sets, "T. Birkett", [], Photos()))
    assert len(asked) == 1


def test_the_preview_offers_photos_and_says_how_many(technician):
    a_set(A1=stored(WIDE), A2="")
    page = technician.get("/sets/TS-1/count-sheet/?photos=yes")
    assert "Photos on 1 of 2 lines." in page.content.decode()
    assert "photos=yes" in page.context["file"]


def test_the_preview_says_when_there_is_no_photo(technician):
    a_set(A1="")
    page = technician.get("/sets/TS-1/count-sheet/?photos=yes").content.decode()
    assert "No instrument of this set has a photo that can be printed." in page


@pytest.mark.parametrize(("asked", "pictures"), [("?photos=yes", 1), ("", 0)])
def test_the_file_has_photos_when_asked(technician, asked, pictures):
    a_set(A1=stored(WIDE))
    pdf = technician.get(f"/sets/TS-1/count-sheet.pdf{asked}").content
    assert len(sizes_mm(pdf)) == pictures


@pytest.mark.parametrize(("asked", "pictures"), [({"photos": "yes"}, 1), ({}, 0)])
def test_a_run_has_photos_when_asked(technician, asked, pictures):
    a_set(A1=stored(WIDE))
    page = technician.post("/papers/count-sheets/", {"codes": "TS-1", **asked}, follow=True)
    file = technician.get(page.redirect_chain[-1][0] + "file/")
    assert len(sizes_mm(file.getvalue(), page=1)) == pictures
    file.close()


@pytest.mark.parametrize("code", [["TS-1"], ["--all"]])
def test_the_command_prints_photos_and_names_those_it_cannot_read(tmp_path, capsys, code):
    a_set(A1=stored(WIDE), A2=missing())
    call_command("print_count_sheet", *code, "--photos", "-o", str(tmp_path / "a.pdf"))
    assert len(sizes_mm((tmp_path / "a.pdf").read_bytes(), page=len(code[0]) // 5)) == 1
    assert unread_words(["A2"]) in capsys.readouterr().err


def test_the_sheet_of_a_signed_set_has_photos_when_asked(technician):
    package = bench.signed()
    Instrument.objects.filter(lines__isnull=False).update(photo=stored(WIDE))
    asked = [
        draw_count_sheet(built_sheet_document(package, "Bea Hartsop", photos=p))
        for p in (None, Photos())
    ]
    assert [len(sizes_mm(pdf)) > 0 for pdf in asked] == [False, True]
