"""Putting codes on record for an instrument and taking them off; coordinators only."""

from __future__ import annotations

from django.conf import settings
from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from catalog.actions import (
    IdentifierRefusedError,
    actor_for,
    add_identifier,
    remove_identifier,
)
from catalog.models import Identifier, Instrument
from catalog.scans.elements import IdentifierKind, Wanted
from catalog.scans.scanning import Scan, read_scan

ONE_PIECE = "piece"


@require_POST
@permission_required("catalog.change_instrument", raise_exception=True)
def add(request: HttpRequest, item_number: str) -> HttpResponse:
    """Read the scanned code and put it on record; refused, the page keeps what was typed."""
    instrument = get_object_or_404(Instrument, item_number__folded=item_number)
    scan = read_scan(request.POST.get("code", ""), settings.SCANNER_SEPARATOR)
    where, scope = request.POST.get("where_found", ""), request.POST.get("scope", "")
    try:
        wanted = meant(scan, one_piece=scope == ONE_PIECE)
        made = add_identifier(actor_for(request.user), instrument, wanted, where)
    except IdentifierRefusedError as refusal:
        context = {"instrument": instrument, "problem": refusal, "code": scan.text,
                   "where_found": where, "scope": scope}  # fmt: skip
        return render(request, "catalog/instruments/identifiers.html", context, status=422)
    messages.success(request, f"{made} leads to {instrument} from now on.")
    for warning in scan.warnings:
        messages.warning(request, warning)
    return redirect("instrument", instrument.item_number)


def meant(scan: Scan, *, one_piece: bool) -> Wanted:
    """Which identifier of a scan to keep: the model's, or the one piece's where asked for.

    A plain number with a good check digit is kept as GTIN. IdentifierRefusedError when the
    scan may not be used or names nothing.
    """
    if scan.problem or not scan.identifiers:
        raise IdentifierRefusedError(scan.problem or scan.names_nothing)
    numbers = [item for item in scan.identifiers if item.kind is not IdentifierKind.TEXT]
    if not numbers:
        return scan.identifiers[0]
    return numbers[0] if one_piece else numbers[-1]


@require_POST
@permission_required("catalog.change_instrument", raise_exception=True)
def remove(request: HttpRequest, item_number: str, pk: int) -> HttpResponse:
    """Take one code off its instrument."""
    identifier = get_object_or_404(Identifier, pk=pk, instrument__item_number__folded=item_number)
    instrument = identifier.instrument
    remove_identifier(actor_for(request.user), identifier)
    messages.success(request, f"{identifier} no longer leads to {instrument}.")
    return redirect("instrument", instrument.item_number)
