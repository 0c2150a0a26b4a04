"""The company's crews, a list to add to and a page for each, and the days on which none works."""

from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from api.access import company_view
from api.web.company_crew import GROUPS, company_crew_page, crew_of, today_of
from api.web.company_part import page_of_group
from api.web.crews import NewCrewGroup, crews_page
from api.web.holidays_form import HolidaysGroup
from api.web.house_edits import who_edits
from finishing.models import Company
from finishing.services.holidays import refresh_holidays


@require_http_methods(["GET", "HEAD", "POST"])
@company_view()
def crews(request: HttpRequest, company: Company) -> HttpResponse:
    """Show the company's crews; add one."""
    group = NewCrewGroup(company, request.POST if request.method == "POST" else None)
    if request.method == "POST" and group.kept(who_edits(request), timezone.now()):
        return redirect("web:crew", group.made.public_id)
    context = {"company": company, "page": crews_page(company), "new": group}
    return render(request, "web/crews.html", context, status=422 if group.faults() else 200)


@require_safe
@company_view()
def crew(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:
    """Show a crew, to be edited."""
    saved = request.GET.get("saved", "")
    page = company_crew_page(crew_of(company, public_id), timezone.now(), saved=saved)
    return render(request, "web/company_crew.html", {"company": company, "page": page})


@require_POST
@company_view()
def save_crew(request: HttpRequest, company: Company, public_id: UUID, part: str) -> HttpResponse:
    """Save one section of that page; part: its name."""
    row, now = crew_of(company, public_id), timezone.now()
    if part not in GROUPS:
        raise Http404("There is no such section.")
    group = GROUPS[part](row, today_of(row, now), request.POST)
    if group.kept(who_edits(request), now):
        return redirect(f"{reverse('web:crew', args=[public_id])}?saved={part}#{part}")
    page = company_crew_page(row, now, wrong=group)
    context = {"company": company, "page": page}
    status = 409 if group.stale else 422
    return render(request, "web/company_crew.html", context, status=status)


holidays = page_of_group(HolidaysGroup, name="holidays", template="web/holidays.html")


@require_POST
@company_view()
def fetch_holidays(request: HttpRequest, company: Company) -> HttpResponse:  # noqa: ARG001
    """Store the public holidays of the company's country, of this year and the next."""
    refresh_holidays(company=company, years=HolidaysGroup(company).years())
    return redirect(reverse("web:holidays") + "?saved=yes")
