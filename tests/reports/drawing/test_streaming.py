"""A file that is written while it is drawn: whole, the same each time, nothing piled up."""

from __future__ import annotations

import io
import re
from datetime import datetime, timedelta

import pypdfium2
import pytest
from django.core.management import CommandError
from reportlab import rl_config

from reports.drawing.files import new_canvas
from reports.drawing.labels.labels import write_labels
from reports.drawing.sheets.count_sheets import write_count_sheets
from reports.drawing.stocks import stock
from reports.pages.printing import written
from tests.reports.examples import draw_count_sheets, label, pdf_flaws, sheet


class Counting(io.BytesIO):
    """Keeps how long the file was whenever it was asked for."""

    def __init__(self) -> None:
        super().__init__()
        self.lengths: list[int] = []

    def note(self, done: int) -> None:
        self.lengths.append(self.tell())


def many():
    return [sheet(3, set_code=f"S-{number}") for number in range(4)]


def test_every_object_stands_where_the_index_says():
    pdf = draw_count_sheets(many())
    start = int(re.findall(rb"startxref\s+(\d+)", pdf)[-1])
    places = re.findall(rb"^(\d{10}) 00000 n ", pdf[start:], re.MULTILINE)
    named = [pdf[int(place) :].split(b"\n", 1)[0] for place in places]
    assert named == [b"%d 0 obj" % number for number in range(1, len(places) + 1)]


def test_no_object_is_written_twice():
    numbers = re.findall(rb"^(\d+) 0 obj", draw_count_sheets(many()), re.MULTILINE)
    assert len(numbers) == len(set(numbers))


def test_equal_documents_give_equal_bytes():
    assert draw_count_sheets(many()) == draw_count_sheets(many())


def test_a_file_bears_the_time_it_was_made(monkeypatch):
    monkeypatch.setattr(rl_config, "invariant", 0)
    made = pypdfium2.PdfDocument(draw_count_sheets(many())).get_metadata_dict()["CreationDate"]
    before = datetime.now() - datetime.strptime(made[:16], "D:%Y%m%d%H%M%S")
    assert timedelta() <= before < timedelta(minutes=1)


def test_a_run_of_sheets_has_its_fonts_and_its_title():
    assert pdf_flaws(draw_count_sheets(many())) == []


def test_each_sheet_is_in_the_file_before_the_next_is_drawn():
    out = Counting()
    write_count_sheets(out, many(), progress=out.note)
    assert all(
        later - one > 1_000 for one, later in zip(out.lengths, out.lengths[1:], strict=False)
    )


def test_each_label_is_in_the_file_one_page_later():
    out = Counting()
    write_labels(out, [label()] * 5, stock("label-100x50"), progress=out.note)
    assert all(later > one for one, later in zip(out.lengths[1:], out.lengths[2:], strict=False))


def test_a_page_with_nothing_on_it_is_a_page():
    out = io.BytesIO()
    canvas = new_canvas(out, (100.0, 50.0), "Empty")
    canvas.showPage()
    canvas.save()
    assert pypdfium2.PdfDocument(out.getvalue())[0].get_size() == (100.0, 50.0)


def test_a_file_appears_whole(tmp_path):
    path = tmp_path / "a.pdf"
    with written(str(path)) as out:
        out.write(b"half")
        assert not path.exists()
    assert path.read_bytes() == b"half"


@pytest.mark.parametrize("stop", [KeyboardInterrupt, ValueError])
def test_a_file_that_is_not_finished_leaves_the_old_one(tmp_path, stop):
    path = tmp_path / "a.pdf"
    path.write_bytes(b"old")
    with pytest.raises(stop), written(str(path)) as out:
        out.write(b"half")
        raise stop
    assert [(one.name, one.read_bytes()) for one in tmp_path.iterdir()] == [("a.pdf", b"old")]


def test_a_folder_that_is_not_there_is_said(tmp_path):
    with (
        pytest.raises(CommandError, match="cannot be written"),
        written(str(tmp_path / "no" / "a")),
    ):
        pass


def test_a_link_is_written_through(tmp_path):
    (tmp_path / "real.pdf").write_bytes(b"")
    (tmp_path / "link.pdf").symlink_to(tmp_path / "real.pdf")
    with written(str(tmp_path / "link.pdf")) as out:
        out.write(b"whole")
    assert (tmp_path / "real.pdf").read_bytes() == b"whole"
