"""The page on which a person says how the letters of a text table are written."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from catalog.models import SpreadsheetBatch
from catalog.pages.spreadsheets.views import STILL_READ, SpreadsheetPage, begin


class Letters(SpreadsheetPage):
    """Asked where nobody can tell; else what was told can be corrected."""

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        batch = self.batch()
        if batch.job or not batch.readings or batch.state not in STILL_READ:
            return redirect("catalog:spreadsheet", pk=batch.pk)
        return render(request, "catalog/spreadsheets/letters.html", {"batch": batch})

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        """Read the file anew, in one of the encodings that were offered."""
        batch, encoding = self.batch(), request.POST.get("encoding", "")
        offered = [each["encoding"] for each in batch.readings]
        if encoding in offered and not batch.job and batch.state in STILL_READ:
            batch.encoding, batch.mapping = encoding, {}
            begin(batch, SpreadsheetBatch.Job.LOOK)
        return redirect("catalog:spreadsheet", pk=batch.pk)
