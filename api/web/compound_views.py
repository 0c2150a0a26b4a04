"""Compounds, jointing systems and what else is bought: listed, made, changed, removed."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from api.access import company_view, may_plan
from api.web.compound_form import CompoundGroup
from api.web.compounds import compounds_page
from api.web.house_edits import changed_meanwhile, typed_version, who_edits
from api.web.supply_form import SupplyGroup
from api.web.system_form import SystemGroup
from finishing.models import Company, Compound, JointingSystem, Supply
from finishing.services.company_log import logged
from finishing.services.compounds import InUseError, remove_compound, remove_system
from finishing.services.rows import StaleRowsError
from finishing.services.supplies import remove_material
from scheduling.wording import listed


@dataclass(frozen=True)
class Kind:
    """What these pages edit. remove: the service, called with the row and the version seen."""

    model: Any
    group: Any
    template: str
    remove: Callable[[Any, int], None]


COMPOUND = Kind(
    Compound,
    CompoundGroup,
    "web/compound.html",
    lambda row, version: remove_compound(compound=row, version=version),
)
SYSTEM = Kind(
    JointingSystem,
    SystemGroup,
    "web/system.html",
    lambda row, version: remove_system(system=row, version=version),
)

SUPPLY = Kind(
    Supply,
    SupplyGroup,
    "web/supply.html",
    lambda row, version: remove_material(row=row, version=version),
)


@require_safe
@company_view()
def compounds(request: HttpRequest, company: Company) -> HttpResponse:
    """Show what the company puts on."""
    context = {
        "company": company,
        "page": compounds_page(company),
        "saved": request.GET.get("saved") == "yes",
    }
    return render(request, "web/compounds.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@company_view()
def compound(request: HttpRequest, company: Company, public_id: UUID | None = None) -> HttpResponse:
    """Show and save a compound; without an id a new one."""
    return _edit(request, company, public_id, COMPOUND)


@require_http_methods(["GET", "HEAD", "POST"])
@company_view()
def system(request: HttpRequest, company: Company, public_id: UUID | None = None) -> HttpResponse:
    """Show and save a jointing system; without an id a new one."""
    return _edit(request, company, public_id, SYSTEM)


@require_http_methods(["GET", "HEAD", "POST"])
@company_view()
def supply(request: HttpRequest, company: Company, public_id: UUID | None = None) -> HttpResponse:
    """Show and save what is bought beside compounds; without an id a new one."""
    return _edit(request, company, public_id, SUPPLY)


def _edit(
    request: HttpRequest, company: Company, public_id: UUID | None, kind: Kind
) -> HttpResponse:
    row = _row(company, public_id, kind)
    if request.method != "POST":
        return _page(request, company, kind, kind.group(company, row))
    if row and "remove" in request.POST:
        return _remove(request, company, row, kind)
    group = kind.group(company, row, request.POST)
    if group.kept(who_edits(request), timezone.now()):
        return _to_list()
    return _page(request, company, kind, group, status=409 if group.stale else 422)


def _remove(request: HttpRequest, company: Company, row: Any, kind: Kind) -> HttpResponse:
    try:
        with logged(company, kind.group.logs, by=who_edits(request), now=timezone.now()):
            kind.remove(row, typed_version(request.POST.get("version")))
    except InUseError as error:
        said = _("It is used, so it was not removed. Where: %(where)s. Change these first.")
        refusal = said % {"where": listed([*error.where])}
    except StaleRowsError:
        refusal = changed_meanwhile()
    else:
        return _to_list()
    group = kind.group(company, row)
    return _page(request, company, kind, group, refusal=refusal, status=409)


def _row(company: Company, public_id: UUID | None, kind: Kind) -> Any:
    if public_id is None:
        return None
    return get_object_or_404(kind.model, company=company, public_id=public_id)


def _page(
    request: HttpRequest,
    company: Company,
    kind: Kind,
    group: Any,
    *,
    refusal: str = "",
    status: int = 200,
) -> HttpResponse:
    if not may_plan(request):
        for form in group.forms:
            form.fields.pop("pack_prices", None)
    context = {"company": company, "group": group, "row": group.row, "refusal": refusal}
    return render(request, kind.template, context, status=status)


def _to_list() -> HttpResponse:
    return redirect(reverse("web:compounds") + "?saved=yes")
