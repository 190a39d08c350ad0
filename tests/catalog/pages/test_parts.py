"""The parts that pages are made of."""

from __future__ import annotations

import itertools
import re
from decimal import Decimal
from typing import Any

import pytest
from django.template import engines
from django.test import Client
from django.utils.safestring import mark_safe

from tests.factories import catalog as make


def drawn(text: str, **context: Any) -> str:
    return engines["django"].from_string(text).render(context)


class TestForms:
    def test_a_posted_form_has_its_address_and_token(self) -> None:
        form = drawn('{% posted_form "sign_out" %}x{% endposted_form %}', csrf_token="T")
        assert form == (
            '<form method="post" novalidate action="/sign-out/">'
            '<input type="hidden" name="csrfmiddlewaretoken" value="T">x</form>'
        )

    def test_every_keyed_form_takes_a_key_of_its_own(self) -> None:
        numbers = itertools.count(1)
        two = "{% keyed_form %}{% endkeyed_form %}" * 2
        page = drawn(two, new_key=lambda: next(numbers), csrf_token="T")
        assert ('name="key" value="1"' in page, 'name="key" value="2"' in page) == (True, True)

    def test_a_form_with_a_target_is_sent_by_htmx_to_the_same_address(self) -> None:
        form = drawn('{% posted_form action="/a/" hx_target="#b" %}{% endposted_form %}')
        assert 'action="/a/"' in form and 'hx-post="/a/"' in form

    def test_an_empty_hidden_value_is_sent_empty(self) -> None:
        assert drawn("{% hidden a=none %}", none=None) == '<input type="hidden" name="a" value="">'

    def test_a_large_number_keeps_its_plain_digits(self) -> None:
        assert 'value="12345"' in drawn("{% hidden line=n %}", n=12345)

    def test_what_was_typed_is_escaped(self) -> None:
        field = drawn('{% entry "why" "Why" value=typed %}', typed='"><script>')
        assert "<script>" not in field

    def test_what_was_chosen_is_selected(self) -> None:
        field = drawn('{% choose "n" "How many" counts chosen=2 %}', counts=[1, 2])
        assert '<option value="2" selected>2</option>' in field

    def test_nothing_chosen_selects_nothing(self) -> None:
        assert "selected" not in drawn('{% choose "n" "How many" counts %}', counts=[0, 1])

    @pytest.mark.parametrize("given, marked", [("no", True), ("yes", False), (None, False)])
    def test_an_answer_is_marked_when_it_was_given(self, given: Any, marked: bool) -> None:
        assert ("checked" in drawn('{% choice "a" "no" "No" chosen=g %}', g=given)) == marked


class TestTables:
    def test_a_column_of_figures_says_so(self) -> None:
        assert '<th class="number">Count</th>' in drawn('{% heads "Name" "#Count" %}')

    def test_a_name_for_the_ear_is_not_seen(self) -> None:
        assert '<th><span class="hidden">Take</span></th>' in drawn('{% heads "-Take" %}')

    def test_a_column_without_a_name_has_no_heading_cell(self) -> None:
        assert "<tr><td></td></tr>" in drawn('{% heads "" %}')

    def test_a_table_scrolls_and_has_a_name(self) -> None:
        found = drawn("{% table label %}x{% endtable %}", label="A & B")
        assert 'role="group" aria-label="A &amp; B"' in found


class TestWhatIsSaid:
    def test_a_message_that_names_nothing_is_not_shown(self) -> None:
        assert drawn('{% listed "bad" "Goes with shortages" none %}', none=[]) == ""

    def test_what_a_message_names_is_escaped(self) -> None:
        assert "<li>&lt;b&gt;</li>" in drawn('{% listed "bad" "Short" names %}', names=["<b>"])

    def test_an_unknown_amount_is_never_zero(self) -> None:
        assert "not known" in drawn('{% amount none "g" %}', none=None)

    def test_an_amount_loses_no_half(self) -> None:
        assert drawn('{% amount value "mm" %}', value=Decimal("12.50")) == "12.5 mm"

    @pytest.mark.parametrize("status, sign", [
        ("met", "✓"), ("not met", "✕"), ("cannot tell", "?"), ("does not apply", "–"),
    ])  # fmt: skip
    def test_a_state_is_told_by_sign_and_word(self, status: str, sign: str) -> None:
        assert f"{sign}</span>{status}</span>" in drawn("{% state s %}", s=status)


HEBREW = "\u05de\u05e1\u05e4\u05e8\u05d9\u05d9\u05dd"


class TestNames:
    def test_a_right_to_left_name_does_not_turn_its_line(self) -> None:
        assert drawn("{{ n|isolated }} 5 mm", n=f"{HEBREW}&") == f"<bdi>{HEBREW}&amp;</bdi> 5 mm"

    def test_any_other_name_is_as_it_was(self) -> None:
        assert drawn("{{ n|isolated }}, {{ m|isolated }}", n="Péan", m=3) == "Péan, 3"

    @pytest.mark.parametrize(("said", "shown"), [
        (f"{HEBREW} 5, {HEBREW}: 1 of 2 & more.",
         f"<bdi>{HEBREW} 5, {HEBREW}</bdi>: 1 of 2 &amp; more."),
        (f"{HEBREW} or {HEBREW}", f"<bdi>{HEBREW}</bdi> or <bdi>{HEBREW}</bdi>"),
        ("Péan: 1 < 2", "Péan: 1 &lt; 2"),
    ])  # fmt: skip
    def test_a_sentence_keeps_its_order_around_right_to_left_names(
        self, said: str, shown: str
    ) -> None:
        assert drawn("{{ said|isolated_inside }}", said=said) == shown

    def test_what_is_html_already_stays_as_it_is(self) -> None:
        link = mark_safe(f'<a title="{HEBREW}">{HEBREW}</a>')
        assert drawn("{{ said|isolated_inside }}", said=link) == link

    def test_what_a_page_says_has_it(self) -> None:
        said = {"tone": "right", "words": f"{HEBREW}: 1 of 1 in"}
        page = engines["django"].get_template("_said.html").render({"said": said})
        assert f"<bdi>{HEBREW}</bdi>: 1 of 1 in" in page

    @pytest.mark.django_db
    def test_every_page_has_it_on_its_names_in_text_alone(self, technician: Client) -> None:
        make.Instrument(item_number="T-1", name=HEBREW)
        page = technician.get("/instruments/T-1/").content.decode()
        assert f"<bdi>{HEBREW}</bdi>" in page and f"<title>T-1 {HEBREW}" in page
        assert not re.search(r'="[^"<]*<bdi>', page)
        cell = technician.get("/instruments/").content.decode().partition("<bdi>")[2]
        assert HEBREW in cell.partition("</bdi>")[0]
