"""The page on which cells of waiting rows are corrected, or said to be right."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from catalog.actions import actor_for
from catalog.forms.fields import row_number
from catalog.models import SpreadsheetBatch
from catalog.pages.spreadsheets.cell_fields import Cells
from catalog.pages.spreadsheets.views import SpreadsheetPage, begin
from catalog.spreadsheets.batches.correcting import MeanwhileError, Said, correct


class Correct(SpreadsheetPage):
    """Cells of waiting rows corrected, or said to be right; then every row is checked again, and
    so it is where nothing was corrected."""

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        """All cells of one row as fields: of the first that waits where none is named."""
        batch = self.batch()
        number = row_number(request.GET.get("row"))
        asked = batch.rows.exclude(problems=[])
        row = asked.filter(**({"pk": number} if number else {"goes_in": False})).first()
        if row is None or batch.job or batch.state != SpreadsheetBatch.State.CHECKED:
            return redirect("catalog:spreadsheet", pk=batch.pk)
        wrong, others = Cells(batch).of_row(row)
        return self._page(batch, {"row": row, "fields": [*wrong, *others]})

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        batch = self.batch()
        cells, said = Cells(batch), list[Said]()
        try:
            said = cells.read(request.POST)
            done = correct(batch, actor_for(request.user), said)
        except (MeanwhileError, ValueError) as refusal:
            context = {"refusal": str(refusal), "fields": list(cells.again(said))}
            return self._page(batch, context, status=409)
        begin(batch, SpreadsheetBatch.Job.CHECK)
        corrected = "1 cell was corrected" if done == 1 else f"{done} cells were corrected"
        again = (
            f"{corrected}; every row is checked again." if done else "Every row is checked again."
        )
        messages.success(request, again)
        return redirect("catalog:spreadsheet", pk=batch.pk)

    def _page(
        self, batch: SpreadsheetBatch, context: dict[str, Any], status: int = 200
    ) -> HttpResponse:
        context = {"batch": batch, **context}
        return render(self.request, "catalog/spreadsheets/correct.html", context, status=status)
