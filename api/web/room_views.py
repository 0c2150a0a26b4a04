"""Rooms edited in place: a page for a room, with what it comes to while figures are typed."""

from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from api.access import company_view
from api.web.house_edits import who_edits
from api.web.room_group import RoomGroup
from api.web.room_page import room_page, room_work
from finishing.models import Company
from scheduling.services.work_totals import house_for_totals


@require_http_methods(["GET", "HEAD", "POST"])
@company_view()
def room(request: HttpRequest, company: Company, public_id: UUID, room_id: UUID) -> HttpResponse:
    """Show a room to be edited, work out what was typed, or save it."""
    if request.method != "POST":
        group = _group(request, company, public_id, room_id)
        page = room_page(company, group, saved="saved" in request.GET)
        return render(request, "web/room.html", {"company": company, "page": page})
    group = _group(request, company, public_id, room_id)
    status = 200
    if "work_out" not in request.POST:
        if group.kept(who_edits(request), timezone.now()):
            return redirect(reverse("web:room", args=[public_id, room_id]) + "?saved")
        status = 200 if group.asks else 409 if group.stale else 422
    page = room_page(company, group, wrong=status != 200)
    return render(request, "web/room.html", {"company": company, "page": page}, status=status)


@require_POST
@company_view()
def work(request: HttpRequest, company: Company, public_id: UUID, room_id: UUID) -> HttpResponse:
    """Show what a room comes to as typed; nothing is stored."""
    group = _group(request, company, public_id, room_id)
    context = {"company": company, "work": room_work(company, group), "group": group}
    return render(request, "web/room_work.html", context)


def _group(request: HttpRequest, company: Company, public_id: UUID, room_id: UUID) -> RoomGroup:
    house = house_for_totals(company, public_id=public_id)
    rooms = (room for area in house.areas.all() for room in area.rooms.all())
    row = next((room for room in rooms if room.public_id == room_id), None)
    if row is None:
        raise Http404("The house has no such room.")
    return RoomGroup(house, row.area, row, request.POST if request.method == "POST" else None)
