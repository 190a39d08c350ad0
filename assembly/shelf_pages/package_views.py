"""The page of a package that left the bench, and the requests it left behind."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST

from assembly.bench.forms import ASSEMBLE
from assembly.bench.settings import switch, with_keys
from assembly.judging.taking import supplies_in
from assembly.ledger import Refused
from assembly.models import Package, Repair, Shortage
from assembly.packages import recording as packages
from assembly.packages.standing import load_of, with_standing
from assembly.persons import person_at
from assembly.rules.telling.labelling import placement
from assembly.shortfalls import replenishing
from assembly.sterilizing.lists import gathering_for
from assembly.sterilizing.views import RUN


@permission_required("assembly.view_package", raise_exception=True)
def package_page(request: HttpRequest, code: str) -> HttpResponse:
    """Contents, the decision as it was, and in large words whether its label is void."""
    package = get_object_or_404(
        with_standing(Package.objects.select_related("build", "instrument")), code__iexact=code
    )
    kind, _ = supplies_in(package.decision["taken"])
    context = with_keys(
        package=package,
        printing=bool(request.GET.get("print")),
        placement=placement(kind),
        load=load_of(package),
        loads=gathering_for(package) if request.user.has_perm(RUN) else [],
    )
    return render(request, "assembly/packages/package.html", context)


@require_POST
@permission_required(ASSEMBLE, raise_exception=True)
def void_package(request: HttpRequest, code: str) -> HttpResponse:
    """Void a single package, with the reason."""
    package = get_object_or_404(Package, code__iexact=code)
    try:
        reason = request.POST.get("reason", "")[:300]
        back = bool(request.POST.get("to_spares"))
        packages.void_package(person_at(request), package.pk, reason, to_spares=back)
    except Refused as problem:
        messages.error(request, str(problem))
    return redirect("package", code=package.code)


@require_POST
@permission_required(ASSEMBLE, raise_exception=True)
def close_request(request: HttpRequest, kind: str, pk: int) -> HttpResponse:
    """All that a set went short of is back, or an instrument is back from repair."""
    because = request.POST.get("because", "")[:300]
    if kind == "repair":
        get_object_or_404(Repair, pk=pk)
        packages.close_repair(person_at(request), pk, because)
    else:
        shortage = get_object_or_404(Shortage.objects.select_related("instrument"), pk=pk)
        replenishing.all_back(person_at(request), shortage, because)
    return redirect("bench")


@require_POST
def switch_setting(request: HttpRequest) -> HttpResponse:
    """Sound, flash or single-key shortcuts, on or off for this session."""
    switch(request, request.POST.get("name", ""))
    back = request.POST.get("next", "")
    safe = url_has_allowed_host_and_scheme(back, allowed_hosts={request.get_host()})
    return redirect(back if safe else reverse("bench"))
