"""Photographs: made anew, limited, our own name, for signed-in people only."""

from __future__ import annotations

import io
import re
import struct
import zlib

import pytest
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image

from catalog import photos
from catalog.models import Change, Instrument
from tests.factories import catalog as make
from tests.factories.pictures import picture


def opened(data: bytes) -> Image.Image:
    return Image.open(io.BytesIO(data))


@pytest.mark.parametrize("form", ["PNG", "JPEG", "WEBP"])
def test_every_form_becomes_a_jpeg(form: str) -> None:
    assert opened(photos.made_anew(picture(form=form))).format == "JPEG"


def test_a_large_picture_is_made_smaller() -> None:
    assert opened(photos.made_anew(picture(4000, 2000))).size == (1600, 800)


def test_notes_in_the_file_are_left_out() -> None:
    exif = Image.Exif()
    exif[0x010F] = "a camera's maker"
    assert not opened(photos.made_anew(picture(form="JPEG", exif=exif.tobytes()))).getexif()


def test_a_picture_taken_sideways_is_turned_upright() -> None:
    exif = Image.Exif()
    exif[0x0112] = 6
    data = picture(40, 20, "JPEG", exif=exif.tobytes())
    assert opened(photos.made_anew(data)).size == (20, 40)


def test_what_is_transparent_becomes_white() -> None:
    assert opened(photos.made_anew(picture(mode="RGBA"))).getpixel((0, 0)) == (255, 255, 255)


@pytest.mark.parametrize(
    "data",
    [b"", b"<svg xmlns='http://www.w3.org/2000/svg'/>", b"GIF89a", picture()[:40],
     picture(form="GIF", mode="L")],
    ids=["empty", "svg", "no gif", "cut off", "gif"],
)  # fmt: skip
def test_what_is_no_photograph_is_refused(data: bytes) -> None:
    with pytest.raises(photos.PhotoError, match="no picture"):
        photos.made_anew(data)


def test_too_many_bytes_are_refused() -> None:
    with pytest.raises(photos.PhotoError, match="10 MB"):
        photos.made_anew(b"x" * (photos.MAX_BYTES + 1))


def test_too_many_pixels_are_refused_before_they_are_unpacked() -> None:
    with pytest.raises(photos.PhotoError, match="pixels"):
        photos.made_anew(picture(10_000, 6_000, mode="1"))


def test_a_picture_far_too_large_is_said_to_be_so() -> None:
    header = struct.pack(">IIBBBBB", 30_000, 30_000, 8, 2, 0, 0, 0)
    start = b"IHDR" + header
    data = b"\x89PNG\r\n\x1a\n" + struct.pack(">I", 13) + start
    data += struct.pack(">I", zlib.crc32(start)) + struct.pack(">I", 0) + b"IDAT" + b"\0" * 4
    with pytest.raises(photos.PhotoError, match="pixels"):
        photos.made_anew(data)


def upload(client: Client, data: bytes) -> str:
    file = SimpleUploadedFile("../../evil name.php", data, "image/png")
    client.post("/instruments/T-1/photo/", {"photo": file})
    return Instrument.objects.get().photo


@pytest.mark.django_db
class TestPage:
    @pytest.fixture(autouse=True)
    def instrument(self) -> None:
        make.Instrument(item_number="T-1")

    def test_the_name_is_ours(self, coordinator: Client) -> None:
        assert re.fullmatch(r"instruments/[0-9a-f]{32}\.jpg", upload(coordinator, picture()))

    def test_the_upload_is_on_record(self, coordinator: Client) -> None:
        name = upload(coordinator, picture())
        assert Change.objects.get().after == {"photo": name}

    def test_it_is_shown_as_a_picture_and_nothing_else(self, coordinator: Client) -> None:
        upload(coordinator, picture())
        answer = coordinator.get("/instruments/T-1/photo.jpg")
        assert (answer["Content-Type"], answer["X-Content-Type-Options"]) == (
            "image/jpeg", "nosniff",
        )  # fmt: skip

    def test_a_stranger_does_not_see_it(self, coordinator: Client) -> None:
        upload(coordinator, picture())
        coordinator.logout()
        assert coordinator.get("/instruments/T-1/photo.jpg").status_code == 302

    def test_what_is_refused_is_said_and_changes_nothing(self, coordinator: Client) -> None:
        assert upload(coordinator, b"no picture") == ""

    def test_sending_nothing_is_said(self, coordinator: Client) -> None:
        page = coordinator.post("/instruments/T-1/photo/", {}).content.decode()
        assert "No file was chosen" in page

    def test_a_removed_one_is_gone_from_the_disk(
        self, coordinator: Client, django_capture_on_commit_callbacks: object
    ) -> None:
        name = upload(coordinator, picture())
        with django_capture_on_commit_callbacks(execute=True):  # type: ignore[operator]
            coordinator.post("/instruments/T-1/photo/", {"remove": "1"})
        assert (Instrument.objects.get().photo, default_storage.exists(name)) == ("", False)
