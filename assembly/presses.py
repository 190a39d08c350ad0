"""What pages send, and how what is refused is answered: the one place of both.

A form here only reads: its cleaned fields are the arguments of a verb.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import wraps
from types import new_class
from typing import Any, ClassVar, Self

from django import forms
from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.core.exceptions import PermissionDenied
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST

from assembly.ledger import Refused, permission_of
from assembly.persons import Unknown, person_signing
from catalog.forms.fields import WordsField

View = Callable[..., HttpResponse]


class Sent(forms.Form):
    """What a page sends, read field by field."""

    called: ClassVar[Mapping[str, str]] = {}
    """What a verb calls a field that the page calls otherwise."""

    @classmethod
    def read(cls, data: QueryDict) -> dict[str, Any]:
        """The fields as arguments. Refused with what is wrong with the first that is."""
        form = cls(data)
        if not form.is_valid():
            raise Refused(next(iter(form.errors.values()))[0])
        return {cls.called.get(name, name): value for name, value in form.cleaned_data.items()}

    @classmethod
    def plus(cls, **fields: forms.Field) -> type[Self]:
        """A form that has these fields too."""
        made: type[Self] = new_class(
            f"{cls.__name__}Plus", (cls,), {}, lambda it: it.update(fields)
        )
        return made


class Press(Sent):
    """One press: its key makes it once."""

    called = {"event": "event_pk"}
    key = WordsField()


class Reasoned(Press):
    """A press with its reason."""

    reason = WordsField()


class Scan(Press):
    """A scan, as it was read: a separator inside it is white space to Python."""

    words = forms.CharField(required=False, strip=False)


class KnownField(forms.CharField):
    """A row of ``rows`` named by its number or code, or by its key (``pk``); where it need not be
    named, maybe None.

    ``problem`` is what Refused says of an unknown one, with the ``{text}`` that was read.
    """

    def __init__(self, rows: QuerySet[Any], name: str, problem: str, **kwargs: Any) -> None:
        self.rows, self.name, self.problem = rows, name, problem
        super().__init__(**kwargs)

    def to_python(self, value: Any) -> Any:
        text = super().to_python(value)
        how = "iexact" if self.name == "pk" else "folded"  # a key has no small letters
        found = self.rows.filter(**{f"{self.name}__{how}": text}).first() if text else None
        if found is None and (text or self.required):
            raise Refused(self.problem.format(text=text))
        return found


# --- what can be pressed on a page -----------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Act:
    """One press: the verb, which says who may, and what is sent with it."""

    verb: Callable[..., Any]
    form: type[Sent] = Press


def perform(request: HttpRequest, pk: int, acts: Mapping[str, Act]) -> Any:
    """Do what ``act`` names and return what the verb does; PermissionDenied or Refused."""
    act = acts.get(request.POST.get("act", ""))
    if act is None:
        raise Refused("That is nothing this page does.")
    permission = permission_of(act.verb)
    if not request.user.has_perm(permission):
        raise PermissionDenied
    return act.verb(person_signing(request, permission), pk, **act.form.read(request.POST))


# --- how what is refused is answered ---------------------------------------------------------


def refusals(answer: str | View) -> Callable[[View], View]:
    """What the view refuses is said: on the page named, "shelf#levels", or by ``answer``.

    The page has what the view's address has; ``answer`` gets the request, the problem and that.
    """

    def decorate(view: View) -> View:
        @wraps(view)
        def refusing(request: HttpRequest, **kwargs: Any) -> HttpResponse:
            try:
                return view(request, **kwargs)
            except (Refused, Unknown) as problem:
                if callable(answer):
                    return answer(request, problem, **kwargs)
                name, _, part = answer.partition("#")
                back = reverse(name, kwargs=kwargs)
                return told(request, problem, f"{back}#{part}" if part else back)

        return refusing

    return decorate


def told(request: HttpRequest, problem: object, back: str) -> HttpResponse:
    """Back to another page, which says what was wrong."""
    messages.error(request, str(problem))
    return redirect(back)


def told_there(request: HttpRequest, problem: Exception, **_: Any) -> HttpResponse:
    """Back to the page where the press was, which says what was wrong."""
    messages.error(request, str(problem))
    return back_from(request)


def verb_page(permission: str, answer: str | View) -> Callable[[View], View]:
    """A view that is only posted to, by those who may; what it refuses is said."""
    may = permission_required(permission, raise_exception=True)
    return lambda view: require_POST(may(refusals(answer)(view)))


def back_from(request: HttpRequest) -> HttpResponse:
    """To the page in ``next`` if it is one of ours, else to the Bench."""
    back = request.POST.get("next", "")
    safe = back.startswith("/") and url_has_allowed_host_and_scheme(
        back, allowed_hosts={request.get_host()}
    )
    return redirect(back if safe else reverse("bench"))


KEPT_S = 400 * 24 * 60 * 60
"""As long as browsers keep anything (RFC 6265bis: 400 days)."""


def remember(request: HttpRequest, answer: HttpResponse, name: str, value: str) -> HttpResponse:
    """The answer, by which this workstation's browser keeps what stands beside it, whoever signs
    in there. An empty value changes nothing."""
    if value:
        answer.set_cookie(name, value, max_age=KEPT_S, samesite="Lax", httponly=True,
                          secure=request.is_secure())  # fmt: skip
    return answer
