"""A photograph of a code, read on the server: what it finds, and what it refuses."""

from __future__ import annotations

import io

import pytest
import zxingcpp
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image

from catalog import photos

pytestmark = pytest.mark.django_db
TURNED_DEG, BARS_TURNED_DEG = 17, 3
GS1 = "010064316900176321A1\x1d17270101"


def symbol(text: str, kind: str = "DataMatrix", **options: object) -> Image.Image:
    format_ = getattr(zxingcpp.BarcodeFormat, kind)
    made = zxingcpp.create_barcode(text, format_, **options)
    return Image.fromarray(zxingcpp.write_barcode_to_image(made, scale=5))


def photograph(*symbols: Image.Image, turned_deg: int = TURNED_DEG) -> bytes:
    """The symbols side by side, turned, grey and blurred by compression, as a phone sees them."""
    page = Image.new("L", (500 * len(symbols) + 300, 900), 190)
    for place, one in enumerate(symbols):
        turned = one.convert("L").rotate(turned_deg, expand=True, fillcolor=255)
        page.paste(turned, (100 + 500 * place, 150))
    out = io.BytesIO()
    page.save(out, "JPEG", quality=70)
    return out.getvalue()


def send(client: Client, data: bytes, **more: str) -> str:
    """What the page after it says, or the address of what was read."""
    sent = {"photo": SimpleUploadedFile("x.jpg", data), **more}
    answer = client.post("/requests/photo/", sent, follow=True)
    last = answer.redirect_chain[-1][0]
    return last if "q=" in last else answer.content.decode()


@pytest.mark.parametrize(
    ("kind", "turned"),
    [("DataMatrix", TURNED_DEG), ("QRCode", TURNED_DEG), ("Code128", BARS_TURNED_DEG)],
)
def test_a_code_is_read(kind: str, turned: int) -> None:
    """A code of bars has to lie nearly straight: it is read along lines of pixels."""
    (text,) = photos.codes_on(photograph(symbol("HF-S02", kind), turned_deg=turned))
    assert text.endswith("HF-S02") and text.startswith("]")


def test_the_separators_of_gs1_are_kept() -> None:
    elements = "(01)00643169001763(21)A1(17)270101"
    found = photos.codes_on(photograph(symbol(elements, gs1=True)))
    assert found == [f"]d2{GS1}"]


def test_it_is_looked_up_with_what_the_page_said(technician: Client) -> None:
    address = send(technician, photograph(symbol("HF-S02")), where="OR 3", when="15")
    assert "where=OR+3&when=15&q=%5Dd1HF-S02" in address


def test_it_is_looked_up_where_something_was_wrong(technician: Client) -> None:
    address = send(technician, photograph(symbol("HF-S02")), there="wrong")
    assert address == "/wrong/?&q=%5Dd1HF-S02"


def test_no_code_is_a_sentence(technician: Client) -> None:
    assert "No code can be read" in send(technician, photograph())


def test_several_codes_are_not_chosen_from(technician: Client) -> None:
    page = send(technician, photograph(symbol("HF-1"), symbol("HF-2")))
    assert "2 codes are on the photograph" in page


@pytest.mark.parametrize(
    "data",
    [b"\x00" * 64, b"<svg xmlns='http://www.w3.org/2000/svg'/>", b"GIF89a" + b"\x00" * 40],
    ids=["NUL", "SVG", "GIF"],
)
def test_what_is_no_photograph_is_refused(technician: Client, data: bytes) -> None:
    assert "This is no picture that can be read" in send(technician, data)


def test_a_cut_file_is_refused(technician: Client) -> None:
    data = photograph(symbol("HF-1"))[:3000]
    assert "This is no picture that can be read" in send(technician, data)


def test_too_many_pixels_are_refused_before_they_are_read(technician: Client) -> None:
    out = io.BytesIO()
    Image.new("1", (8000, 7000)).save(out, "PNG")
    assert len(out.getvalue()) < 10_000
    assert "too many pixels" in send(technician, out.getvalue())


def test_too_large_a_file_is_refused(technician: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("assembly.request_pages.camera_views.MAX_BYTES", 100)
    assert "is larger than" in send(technician, photograph(symbol("HF-1")))


def test_nothing_sent_is_said(technician: Client) -> None:
    page = technician.post("/requests/photo/", {}, follow=True).content.decode()
    assert "No photograph was sent" in page


def test_a_code_with_signs_that_no_scanner_types_is_none() -> None:
    assert photos.codes_on(photograph(symbol("A\x00B"))) == []
