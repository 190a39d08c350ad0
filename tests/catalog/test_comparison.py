"""Two revisions against each other, on plain lines without a database."""

from __future__ import annotations

from dataclasses import dataclass

from hypothesis import given
from hypothesis import strategies as some

from catalog.comparison import compare


@dataclass(frozen=True, eq=False)
class L:
    instrument_id: int
    quantity: int = 1
    section: str = ""
    may_go_without: bool = False
    note: str = ""


def words(old: list[L], new: list[L]) -> list[tuple[int, list[str]]]:
    return [(change.line.instrument_id, change.words) for change in compare(old, new)]


def test_the_same_lines_have_no_differences() -> None:
    assert words([L(1), L(2)], [L(1), L(2)]) == [(1, []), (2, [])]


def test_an_added_line() -> None:
    assert words([L(1)], [L(1), L(2)])[1] == (2, ["added"])


def test_a_removed_line_stands_where_it_stood() -> None:
    assert words([L(1), L(2), L(3)], [L(1), L(3)]) == [(1, []), (2, ["removed"]), (3, [])]


def test_a_removed_first_line_stands_first() -> None:
    assert words([L(1), L(2)], [L(2)]) == [(1, ["removed"]), (2, [])]


def test_a_changed_count() -> None:
    assert words([L(1, 2)], [L(1, 3)]) == [(1, ["count changed from 2 to 3"])]


def test_one_line_moved_to_the_front_is_the_only_one_that_moved() -> None:
    found = words([L(1), L(2), L(3)], [L(3), L(1), L(2)])
    assert found == [(3, ["moved"]), (1, []), (2, [])]


def test_a_line_in_another_section_says_from_where() -> None:
    assert words([L(1, section="Top")], [L(1, section="Below")]) == [(1, ["moved from Top"])]


def test_a_changed_note() -> None:
    assert words([L(1)], [L(1, note="sharp")]) == [(1, ["note: none → sharp"])]


def test_two_lines_of_one_instrument_are_paired_by_section() -> None:
    old = [L(1, 2, "Top"), L(1, 5, "Below")]
    assert words(old, [L(1, 5, "Below")]) == [(1, ["removed"]), (1, [])]


LINES = some.lists(
    some.builds(L, some.integers(1, 6), some.integers(1, 3), some.sampled_from(["", "Top"])),
    max_size=8,
)


@given(LINES, LINES)
def test_every_line_of_both_is_told_once(old: list[L], new: list[L]) -> None:
    found = compare(old, new)
    told = (
        sorted(id(each.old) for each in found if each.old),
        sorted(id(each.new) for each in found if each.new),
    )
    assert told == (sorted(map(id, old)), sorted(map(id, new)))


@given(LINES, LINES)
def test_the_new_lines_are_told_in_their_order(old: list[L], new: list[L]) -> None:
    assert [each.new for each in compare(old, new) if each.new] == new


@given(LINES, LINES)
def test_seen_from_the_other_side_added_is_removed(old: list[L], new: list[L]) -> None:
    there, back = compare(old, new), compare(new, old)
    assert sum(each.old is None for each in there) == sum(each.new is None for each in back)


@given(LINES)
def test_a_copy_has_no_differences(lines: list[L]) -> None:
    assert not any(each.words for each in compare(lines, list(lines)))
