"""The rooms of an area edited in rows, with what they come to while figures are typed."""

from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from api.access import company_view
from api.web.area_group import AreaGroup
from api.web.area_page import area_page, area_work
from api.web.house_edits import who_edits
from finishing.models import Company
from scheduling.services.work_totals import house_for_totals


@require_http_methods(["GET", "HEAD", "POST"])
@company_view()
def area(request: HttpRequest, company: Company, public_id: UUID, area_id: UUID) -> HttpResponse:
    """Show the rooms of an area to be edited, work out what was typed, or save it."""
    group = _group(request, company, public_id, area_id)
    status = 200
    if request.method == "POST" and "work_out" not in request.POST:
        if group.kept(who_edits(request), timezone.now()):
            return redirect(reverse("web:area_rooms", args=[public_id, area_id]) + "?saved")
        asked = group.asks or group.asks_surfaces
        status = 200 if asked else 409 if group.stale else 422
    page = area_page(company, group, wrong=status != 200, saved="saved" in request.GET)
    return render(request, "web/area_rooms.html", {"company": company, "page": page}, status=status)


@require_POST
@company_view()
def work(request: HttpRequest, company: Company, public_id: UUID, area_id: UUID) -> HttpResponse:
    """Show what the rooms come to as typed; nothing is stored."""
    group = _group(request, company, public_id, area_id)
    context = {"company": company, "work": area_work(company, group), "group": group, "parts": True}
    return render(request, "web/area_work.html", context)


def _group(request: HttpRequest, company: Company, public_id: UUID, area_id: UUID) -> AreaGroup:
    house = house_for_totals(company, public_id=public_id)
    row = next((area for area in house.areas.all() if area.public_id == area_id), None)
    if row is None:
        raise Http404("The house has no such area.")
    data = request.POST if request.method == "POST" else None
    return AreaGroup(house, row, data, level=request.GET.get("level", ""))
