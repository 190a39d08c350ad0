"""Accounts: everybody changes their own password, a coordinator switches a leaver's off."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import messages
from django.contrib.auth.forms import PasswordChangeForm
from django.contrib.auth.models import User
from django.contrib.auth.views import PasswordChangeView
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse_lazy

from assembly.ledger import Refused, lock_one, verb
from assembly.persons import Person, Unknown, authenticated, name_of, person_at
from assembly.presses import Sent, told, verb_page
from catalog.actions import record
from catalog.models import Change
from catalog.reading import read_page

SWITCH = "auth.change_user"
ON, OFF = "on", "off"


@verb(SWITCH)
def switch(person: Person, pk: int, to: str) -> User:
    """The account is ``on`` or ``off`` from now on: off, it is signed out at its next step.

    What it has on record stays. Refused for one's own: somebody has to be left who switches on.
    """
    if pk == person.pk:
        raise Refused("Nobody switches off their own account. Ask another coordinator.")
    user = lock_one(User, pk)
    was = ON if user.is_active else OFF
    if was != to:
        user.is_active = to == ON
        user.save(update_fields=["is_active"])
        name = user.get_username()[:80]
        record(person.actor(), Change.Verb.CHANGED, user, name, {"account": was}, {"account": to})
    return user


class Switch(Sent):
    to = forms.ChoiceField(choices=[(ON, ON), (OFF, OFF)])


@read_page(SWITCH)
def accounts(request: HttpRequest) -> HttpResponse:
    """Everybody who has an account: those who may sign in first."""
    every = User.objects.prefetch_related("groups").order_by("-is_active", "username")
    return render(request, "accounts/accounts.html", {"accounts": every})


def _not_switched(request: HttpRequest, problem: Exception, **_: Any) -> HttpResponse:
    return told(request, problem, "accounts")


@verb_page(SWITCH, _not_switched)
def switch_account(request: HttpRequest, pk: int) -> HttpResponse:
    try:
        user = switch(person_at(request), pk, **Switch.read(request.POST))
    except User.DoesNotExist as problem:
        raise Http404("There is no such account.") from problem
    messages.success(request, f"{name_of(user)}: {ON if user.is_active else OFF}.")
    return redirect("accounts")


class PasswordForm(PasswordChangeForm):
    """The old password is tried like any other: a few times, then it waits."""

    def __init__(self, request: HttpRequest, *args: Any, **kwargs: Any) -> None:
        self.request = request
        super().__init__(*args, **kwargs)

    def clean_old_password(self) -> str:
        old: str = self.cleaned_data["old_password"]
        try:
            user = authenticated(self.request, self.user.get_username(), old)
        except Unknown as problem:
            raise ValidationError(str(problem)) from problem
        if user is None:
            raise ValidationError("This is not your password. It is case-sensitive.")
        return old


class Password(PasswordChangeView):
    """A new password of one's own. Whoever else is signed in by the old one is signed out."""

    template_name = "accounts/password.html"
    form_class = PasswordForm
    success_url = reverse_lazy("home")

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "request": self.request}

    def form_valid(self, form: Any) -> HttpResponse:
        messages.success(self.request, "Your password is changed. Elsewhere you are signed out.")
        return super().form_valid(form)
