"""A house's areas edited together; a house started, taken out of work, removed."""

from urllib.parse import urlencode
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from api.access import company_view
from api.web.areas_group import AreasGroup
from api.web.areas_page import areas_page
from api.web.form_group import shown_faults
from api.web.house_edits import changed_meanwhile, house_of, typed_version, who_edits
from api.web.new_house_form import NewHouseForm
from finishing.models import Company, House
from finishing.queries.rights import Right
from finishing.services.errors import InputFaults
from finishing.services.new_house import remove_house, set_house_active, start_house
from finishing.services.rows import StaleRowsError
from scheduling.services.work_totals import house_for_totals


@require_http_methods(["GET", "HEAD", "POST"])
@company_view()
def areas(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:
    """Show a house's areas to be edited, or save them."""
    posted = request.method == "POST"
    group = AreasGroup(
        house_for_totals(company, public_id=public_id), request.POST if posted else None
    )
    status = 200
    if posted:
        if group.kept(who_edits(request), timezone.now()):
            return redirect(reverse("web:house_areas", args=[public_id]) + "?saved")
        status = 200 if group.going else 409 if group.stale else 422
    page = areas_page(company, group, wrong=status != 200, saved="saved" in request.GET)
    return render(request, "web/areas.html", {"company": company, "page": page}, status=status)


@require_http_methods(["GET", "HEAD", "POST"])
@company_view(needs=Right.PLAN)
def new(request: HttpRequest, company: Company) -> HttpResponse:
    """Ask what a house is called and when it is handed over; then lead to its first rooms."""
    form = NewHouseForm(company, request.POST if request.method == "POST" else None)
    if form.is_bound and form.is_valid() and (house := _started(request, company, form)):
        first, level = house.areas.all()[0], form.cleaned_data["level"]
        address = reverse("web:area_rooms", args=[house.public_id, first.public_id])
        return redirect(f"{address}?{urlencode({'level': level})}" if level else address)
    context = {"company": company, "form": form, "faults": shown_faults([form])}
    status = 422 if form.is_bound else 200
    return render(request, "web/new_house.html", context, status=status)


def _started(request: HttpRequest, company: Company, form: NewHouseForm) -> House | None:
    """Make the house; None, with the faults on the form, where its name was taken a moment ago."""
    facts = {name: value for name, value in form.cleaned_data.items() if name != "level"}
    areas = facts.pop("areas")
    try:
        return start_house(
            company=company, facts=facts, areas=areas, by=who_edits(request), now=timezone.now()
        )
    except InputFaults as error:
        for fault in error.faults:
            form.add_error(fault.place, fault.text)
    return None


@require_POST
@company_view()
def set_active(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:
    """Take a house out of work, or back into it."""
    house = house_of(company, public_id)
    try:
        set_house_active(
            house=house,
            version=typed_version(request.POST.get("version")),
            is_active=request.POST.get("active") == "yes",
            by=who_edits(request),
            now=timezone.now(),
        )
    except StaleRowsError:
        return _remove_page(request, company, public_id, changed_meanwhile(), 409)
    return redirect("web:remove_house", public_id)


@require_http_methods(["GET", "HEAD", "POST"])
@company_view(needs=Right.PLAN)
def remove(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:
    """Say what removing a house or taking it out of work means, and remove it."""
    if request.method != "POST":
        return _remove_page(request, company, public_id)
    version = typed_version(request.POST.get("version"))
    try:
        remove_house(house=house_of(company, public_id), version=version)
    except StaleRowsError:
        return _remove_page(request, company, public_id, changed_meanwhile(), 409)
    except InputFaults as error:
        return _remove_page(request, company, public_id, error.faults[0].text, 422)
    return redirect("web:houses")


def _remove_page(
    request: HttpRequest, company: Company, public_id: UUID, refusal: str = "", status: int = 200
) -> HttpResponse:
    context = {"company": company, "house": house_of(company, public_id), "refusal": refusal}
    return render(request, "web/remove_house.html", context, status=status)
