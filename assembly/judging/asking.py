"""How a package is asked for in an address: pieces, single or double, fold, programme."""

from __future__ import annotations

from typing import Any

from django import forms
from django.http import HttpRequest

from assembly.judging.facts_from_catalog import policy_in_force
from assembly.presses import Sent
from catalog.forms.fields import WholeField, WordsField
from catalog.vocabulary import Fold


def most_pieces() -> int:
    """How many of a kind the policy lets lie in one package."""
    return int(policy_in_force().number("most_items_in_pouch"))


class Asked(Sent):
    """What is added to an address."""

    pieces = WholeField("number of pieces", least=1, absent=1)
    double = forms.BooleanField(required=False)
    fold = WordsField()
    programme = WordsField()

    def clean_fold(self) -> Fold | None:
        return Fold(self.cleaned_data["fold"]) if self.cleaned_data["fold"] in list(Fold) else None


def asked_for(request: HttpRequest) -> dict[str, Any]:
    """``?pieces=``, ``?double=``, ``?fold=`` and ``?programme=`` as the decision takes them.

    Refused for pieces that cannot be read; more than lie in one package are several packages.
    """
    asked = Asked.read(request.GET)
    return {**asked, "pieces": min(most_pieces(), asked["pieces"])}
