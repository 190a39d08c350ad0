"""Lists of what was changed and of what is missing."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from functools import cached_property
from typing import Any

import django_filters
import django_tables2 as tables
from django import forms
from django.conf import settings
from django.contrib.auth.models import User
from django.db import connection
from django.db.models import OuterRef, Q, QuerySet, Subquery, Value
from django.db.models.functions import Concat
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django_tables2.data import TableQuerysetData

from catalog.history import differences
from catalog.lookup import offered
from catalog.lookup.recorded import batches_called, keys_alike, keys_called
from catalog.lookup.words.query import MOST_WORDS
from catalog.lookup.words.reading import read_asked
from catalog.models import Change, Instrument
from catalog.pages.filters import LACKING, MISSING, WordsFilter, values_of
from catalog.pages.lists import ListPage
from catalog.pages.tables import NUMBER
from catalog.where_used import missing_something, missing_words

DATE = forms.DateInput(attrs={"type": "date"})


MOST_LOOKED_THROUGH = 10_000
"""Records whose words are read, the newest that the other filters leave."""
MOST_SORTED = 100_000
"""Records of one kind, or of one person, that SQLite may put in order for one page."""


class ChangeFilter(WordsFilter):
    """By what was changed, by whom, and when.

    Words are looked for in the newest records, and by an index in all there are of what has this
    number or name, or came in this batch: however many there are, a question takes as long.
    """

    columns = ("object_key", "object_name", "batch", "reason")

    q = django_filters.CharFilter(
        label="Find", strip=False, widget=forms.TextInput(attrs={"type": "search",
        "placeholder": "number, name, batch or reason"}),
    )  # fmt: skip
    actor = django_filters.ChoiceFilter(
        method="of", label="Who", choices=lambda: values_of(Change, "actor"), empty_label="anybody"
    )
    kind = django_filters.ChoiceFilter(
        method="of", label="Kind", choices=lambda: values_of(Change, "kind"), empty_label="any"
    )
    verb = django_filters.ChoiceFilter(
        label="What was done", choices=Change.Verb.choices, empty_label="anything"
    )
    since = django_filters.DateFilter(method="from_day", label="From", widget=DATE)
    until = django_filters.DateFilter(method="to_day", label="To", widget=DATE)

    class Meta:
        model = Change
        fields = ["q", "actor", "kind", "verb", "since", "until"]

    def of(self, rows: QuerySet[Change], name: str, value: str) -> QuerySet[Change]:
        """By the index of the column; where SQLite would sort too many of that value, as they come
        by their moments. A server knows by itself which is shorter."""
        if connection.vendor == "sqlite":
            alike = Change.objects.order_by().filter(**{name: value}).values("pk")
            if alike[MOST_SORTED : MOST_SORTED + 1]:
                rows = rows.alias(**{f"{name}_read": Concat(name, Value(""))})
                name = f"{name}_read"
        return rows.filter(**{name: value})

    def from_day(self, rows: QuerySet[Change], _name: str, day: date) -> QuerySet[Change]:
        return rows.filter(at__gte=_begins(day))

    def to_day(self, rows: QuerySet[Change], _name: str, day: date) -> QuerySet[Change]:
        return rows.filter(at__lt=_begins(day + timedelta(days=1)))

    def filter_queryset(self, queryset: QuerySet[Change]) -> QuerySet[Change]:
        """By the words last: they are looked for among what the other filters leave."""
        values = self.form.cleaned_data
        for name in [name for name in values if name != "q"]:
            queryset = self.filters[name].filter(queryset, values[name])
        return self.worded(queryset, values["q"]) if values["q"].strip() else queryset

    def worded(self, rows: QuerySet[Change], raw: str) -> QuerySet[Change]:
        asked = read_asked(raw, settings.SCANNER_SEPARATOR, offered.prefixes)
        self.form.data = self.form.data.copy()
        self.form.data["q"] = asked.words  # as SearchFilter does
        if not asked.words:
            self.said = asked.problem
            return rows.none()
        words = asked.words.split()
        having, batches = self.having(words), Q(batch__in=batches_called(words[:MOST_WORDS]))
        moments = rows.order_by("-at").values_list("at", flat=True)
        last = list(moments[MOST_LOOKED_THROUGH - 1 : MOST_LOOKED_THROUGH + 1])
        edge = last[0] if len(last) > 1 else None
        found = _of(rows, having, Q(object_key__in=keys_called(asked)) | batches, edge)
        if not found.order_by().values("pk")[:1]:
            alike, guess = keys_alike(asked)
            found = rows.filter(object_key__in=alike)
            self.said = guess or self.said
        if edge:
            when = date_format(timezone.localtime(edge), "DATETIME_FORMAT")
            further = FURTHER.format(count=MOST_LOOKED_THROUGH, when=when)
            self.said = f"{further} {self.said}".strip()
        return found


FURTHER = (
    "The words were looked for in the newest {count:,} records, back to {when}; further back only "
    "a number, the name of an instrument or set, and a batch. For older ones set To to that day, "
    "or choose a kind or a person."
)


def _of(rows: QuerySet[Change], having: Q, named: Q, edge: datetime | None) -> QuerySet[Change]:
    """Rows with the words since the ``edge``, where there is one, and the named ones of all time.

    Each part has an index of its own, which one condition for both would make a database forget.
    """
    if edge is None:
        return rows.filter(having | named)
    new, old = rows.filter(having | named, at__gte=edge), rows.filter(named, at__lt=edge)
    return new.order_by().union(old.order_by(), all=True).order_by("-at", "-pk")


def _begins(day: date) -> datetime:
    return timezone.make_aware(datetime.combine(day, time.min))


def with_logins(changes: QuerySet[Change]) -> QuerySet[Change]:
    """Each with the name that its account signs in with, as the table says it: ``login``."""
    login = User.objects.filter(pk=OuterRef("account")).values("username")
    return changes.annotate(login=Subquery(login))


class ChangeTable(tables.Table):
    """Changes :func:`with_logins`."""

    at = tables.DateTimeColumn(verbose_name="When", attrs={"td": {"class": "moment"}})
    actor = tables.Column(verbose_name="Who")
    verb = tables.Column(verbose_name="Did")
    kind = tables.Column(verbose_name="Kind")
    object_name = tables.Column(verbose_name="What")
    details = tables.Column(
        verbose_name="Before and after", empty_values=(), orderable=False, accessor="pk"
    )
    reason = tables.Column(verbose_name="Why, or in which batch", empty_values=())

    class Meta:
        model = Change
        fields = ("at", "actor", "verb", "kind", "object_name", "details", "reason")
        empty_text = "Nothing on record fits. Take a filter away."

    def render_actor(self, record: Any) -> SafeString:
        return format_html('{} <span class="small">{}</span>', record.actor, record.login or "")

    def value_actor(self, record: Any) -> str:
        return f"{record.actor} ({record.login})" if record.login else record.actor

    def render_details(self, record: Change) -> str:
        return render_to_string("catalog/_differences.html", {"change": record})

    def value_details(self, record: Change) -> str:
        return "; ".join(
            f"{each.field}: {each.before} → {each.after}" if each.before
            else f"{each.field}: {each.after}"
            for each in differences(record)
        )  # fmt: skip

    def render_reason(self, record: Change) -> str:
        return ", ".join(part for part in (record.reason, record.batch) if part)


MOST_COUNTED = 10_000
"""Changes that a page tells and leafs through; of more it says so, and a filter leads further."""


class Newest(TableQuerysetData):
    """Rows of a table that grows for good: so many are counted, not all that there are."""

    @cached_property
    def counted(self) -> int:
        rows = self.data.order_by() if self.data.query.combinator else self.data
        return int(rows.values("pk")[: MOST_COUNTED + 1].count())

    @property
    def in_all(self) -> int:
        """How many rows a file has."""
        return int(self.data.count())

    @property
    def more(self) -> bool:
        """Whether there are more than are counted."""
        return self.counted > MOST_COUNTED

    def __len__(self) -> int:
        return min(self.counted, MOST_COUNTED)


class Records(ListPage):
    """Every change, newest first."""

    permission_required = "catalog.view_change"
    model = Change
    table_class = ChangeTable
    filterset_class = ChangeFilter
    title = "Records"
    lead = "Every change, by a page, a command or a spreadsheet. Beside each name: its account."

    def get_queryset(self) -> QuerySet[Change]:
        return with_logins(Change.objects.all())

    def get_table_data(self) -> Newest:
        return Newest(super().get_table_data())


class MissingFilter(django_filters.FilterSet):
    what = django_filters.ChoiceFilter(
        label="Missing",
        method="lacks",
        empty_label="anything",
        choices=[*MISSING, ("review", "the IFU review")],
    )

    class Meta:
        model = Instrument
        fields = ["what"]

    def lacks(self, rows: QuerySet[Instrument], _name: str, what: str) -> QuerySet[Instrument]:
        if what == "review":
            return rows.filter(ifu_review_on__lte=timezone.localdate())
        return rows.filter(LACKING[what])


class MissingTable(tables.Table):
    sets_blocked = tables.Column(verbose_name="Sets it blocks", attrs=NUMBER)
    item_number = tables.Column(linkify=("instrument", {"item_number": tables.A("item_number")}))
    name = tables.Column()
    missing = tables.Column(empty_values=(), orderable=False, verbose_name="Missing")
    enter = tables.Column(
        empty_values=(), orderable=False, verbose_name="To do", exclude_from_export=True
    )

    class Meta:
        model = Instrument
        fields = ("sets_blocked", "item_number", "name", "group", "missing", "enter")
        empty_text = "Nothing is missing. Every instrument has its sizes, its weight and a cycle."

    def render_missing(self, record: Instrument) -> str:
        return ", ".join(missing_words(record, timezone.localdate()))

    def render_enter(self, record: Instrument) -> SafeString:
        if not self.request.user.has_perm("catalog.change_instrument"):
            return SafeString("")
        page = reverse("catalog:edit_instrument", args=[record.item_number])
        return format_html('<a href="{}">Enter it</a>', page)


class Missing(ListPage):
    """What nobody has measured or read yet, ranked by how many sets wait for it."""

    permission_required = "catalog.view_instrument"
    model = Instrument
    table_class = MissingTable
    filterset_class = MissingFilter
    title = "What is missing"
    lead = (
        "A package is never recommended on a guess, and a set with an unknown weight never "
        "passes. What blocks most sets comes first."
    )

    def get_queryset(self) -> QuerySet[Instrument]:
        return missing_something(timezone.localdate())
