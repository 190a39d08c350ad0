"""A package as a page sends it: by its code, scanned or typed."""

from __future__ import annotations

from django import forms

from assembly.models import Package
from assembly.packages.search import package_at
from assembly.presses import Press, Sent


class OfPackage(Sent):
    """One package."""

    called = {"words": "package"}
    words = forms.CharField(required=False, strip=False)

    def clean_words(self) -> Package | None:
        return package_at(self.cleaned_data["words"])


class PackagePress(OfPackage, Press):
    """A press with one package."""
