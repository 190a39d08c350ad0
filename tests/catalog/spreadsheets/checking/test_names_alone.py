"""Lists of names and nothing else: numbers are proposed, and lengths marked as not measured."""

from __future__ import annotations

from catalog.spreadsheets.cells.report import Report
from catalog.spreadsheets.checking.instruments import guess_kind
from catalog.spreadsheets.checking.sets.lines import check_sets
from catalog.spreadsheets.columns.choices import SheetChoice
from catalog.spreadsheets.workbook.reading import Workbook, read_workbook
from tests.catalog.spreadsheets.workbooks import check_instruments

KNOWN = {
    "HF-1041": ("Mosquito forceps, curved, 125 mm", ["mosquito"]),
    "HF-1042": ("Bone mallet", []),
}
CONTENTS = """SPECIALTY,DISCRIPTION,NAME,CATEGORY,DISCRIPTION
General,,"Allis clamp 6""\",,
,,Mosquito,,
,,,,"A paragraph between the rows, on what the set is for."

,,"Langenbeck retractor 35 x 11 mm, 8 1/2""\",,
,,Retractor (any size),,
"""
FILE = "L07 Contents - Hernia set.csv"
SAID = SheetChoice(set_numbers={"Hernia set": "S-7"}, quantity=1, numbers_from="HF-1043")


def workbook(text: str = CONTENTS, name: str = FILE) -> Workbook:
    return read_workbook(text.encode(), name)


def checked(said: SheetChoice | None = None, retired: tuple[str, ...] = ()) -> Report:
    book = workbook()
    choices = {book.sheets[0].title: said} if said else None
    return check_sets(book, {}, KNOWN, choices, retired)


def test_the_name_of_the_file_says_that_it_is_a_set() -> None:
    assert guess_kind(workbook()) == "sets"
    assert guess_kind(workbook(name="notes of monday.csv")) is None


def test_a_single_column_of_names_is_read_under_the_name_of_its_file() -> None:
    names = "Instruments\nBone mallet\nTowel clip\nAllis clamp\nNerve hook\n"
    book = workbook(names, "Knee tray.csv")
    assert guess_kind(book) == "sets"
    report = check_sets(book, {}, KNOWN, {"Knee tray": SheetChoice(quantity=1)})
    assert [(one.name, len(one.lines)) for one in report.sets] == [("Knee tray", 4)]


def test_how_many_and_from_which_number_is_asked_together() -> None:
    asked = checked().questions
    assert [each.option for each in asked] == ["--quantity ANSWER", "--numbers-from ANSWER"]
    assert asked[1].choices[0].answer == "HF-1043"
    assert len(checked(SheetChoice(quantity=1)).questions) == 1


def test_the_question_counts_what_the_report_numbers() -> None:
    """Neither a nickname, nor a number in the place of a name, nor what waits to be answered."""
    names = ["Mosquito", "hf-1042", "Mosquito forceps curved 125mm", "Bone mallet", "Clip", "Probe"]
    book = workbook("NAME,CATEGORY\n" + "".join(f"{name},\n" for name in names))
    title = book.sheets[0].title
    said = SheetChoice(set_numbers={"Hernia set": "S-7"}, quantity=1)
    (asked,) = check_sets(book, {}, KNOWN, {title: said}).questions
    assert asked.about.startswith("2 instruments have no item number")
    assert asked.choices[0].shows == ("HF-1043 Clip", "HF-1044 Probe")
    report = check_sets(book, {}, KNOWN, {title: SAID})
    assert [row.key for row in report.rows if "new" in row.values] == ["HF-1043", "HF-1044"]


class TestTheNumberOfItsSet:
    """It is proposed beside those of its instruments, where the set is new; else it is asked."""

    SAID = SheetChoice(quantity=1, numbers_from="HF-1043")

    def checked(self, name: str, text: str = CONTENTS) -> Report:
        book, known = workbook(text), {"HF-S07": {"name": name, "lines": {}}}
        return check_sets(book, known, KNOWN, {book.sheets[0].title: self.SAID})

    def test_it_continues_the_departments_own_and_the_report_says_so(self) -> None:
        report = self.checked("Other")
        assert (report.sets[0].code, report.questions) == ("HF-S08", ())
        said = [note.message for note in report.column_notes if note.code == "how_read"]
        assert said == [
            "The file has no item numbers: HF-1043 to HF-1045 are proposed for 3 new instruments.",
            "The set “Hernia set” has no number in the file. HF-S08 is proposed.",
        ]

    def test_it_is_asked_where_a_set_on_record_has_this_name(self) -> None:
        report = self.checked("hernia set")
        assert report.sets[0].code == ""
        assert [each.option.split()[0] for each in report.questions] == ["--set-number"]

    def test_it_is_asked_where_no_instrument_wants_a_number(self) -> None:
        report = self.checked("Other", "NAME,CATEGORY\nBone mallet,\nBone mallet,\n")
        assert [each.option.split()[0] for each in report.questions][:1] == ["--set-number"]


def test_numbers_continue_the_departments_own_and_never_meet_a_taken_one() -> None:
    report = checked(SAID, retired=("hf-1044",))
    assert [row.key for row in report.rows] == ["HF-1043", "HF-1041", "HF-1045", "HF-1046"]


def test_a_known_nickname_is_the_instrument_on_record() -> None:
    assert "new" not in checked(SAID).rows[1].values


def test_a_length_in_a_name_is_a_note_and_never_a_measure() -> None:
    rows = checked(SAID).rows
    assert rows[0].values["new"] == {
        "name": 'Allis clamp 6"',
        "notes": "Length by its name 152.4 mm: still to be measured.",
    }
    assert "215.9 mm" in str(rows[2].values["new"])
    assert [each.code for each in rows[0].problems] == ["new_instrument", "length_in_name"]


def test_any_size_stays_open() -> None:
    assert checked(SAID).rows[3].values["new"] == {"name": "Retractor (any size)"}


def test_paragraphs_between_the_names_are_no_lines() -> None:
    skipped = [(each.row, each.reason) for each in checked(SAID).skipped]
    assert (4, "text") in skipped


def test_a_name_very_like_one_on_record_waits_for_an_answer() -> None:
    book = workbook('NAME,CATEGORY\n"Mosquito forceps curved 125mm",\nBone malet,\nClip,\n')
    title = book.sheets[0].title
    report = check_sets(book, {}, KNOWN, {title: SAID})
    assert [row.waits for row in report.rows] == [True, True, False]


def test_instruments_without_a_length_column_are_marked_the_same_way() -> None:
    book = workbook('Item no,Name,Maker\nA-1,"Kelly clamp 5 1/2""",X\nA-2,Probe,X\n', "list.csv")
    rows = check_instruments(book, {}).rows
    assert rows[0].values["notes"] == "Length by its name 139.7 mm: still to be measured."
    assert rows[0].values.get("length_mm") is None
    assert [each.code for each in rows[0].problems] == ["length_in_name"]


def test_one_on_record_keeps_its_notes() -> None:
    book = workbook('Item no,Name,Maker\nA-1,"Kelly clamp 5 1/2""",X\n', "list.csv")
    known = {"A-1": {"name": 'Kelly clamp 5 1/2"', "notes": "Blue tape.", "maker": "X"}}
    assert check_instruments(book, known).rows[0].changes == ()
