"""Pages of weeks: by crew and by house. The clock is read here and nowhere below."""

from datetime import date
from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_safe

from api.access import company_view
from api.web.awaited import awaited
from api.web.house_weeks import HouseWeeksPage, house_weeks_page
from api.web.week import WeekPage, week_page
from finishing.models import Company
from scheduling.jobs import answer_for_page
from scheduling.services.material_orders import late_visits


@require_safe
@company_view()
def week(request: HttpRequest, company: Company, day: date | None = None) -> HttpResponse:
    """Show crews by days for the week of a day, today's where none is given."""
    now = timezone.now()
    page = week_page(company, day or _today(company), request.GET.dict(), now=now)
    return _shown(request, "web/week.html", company, page)


@require_safe
@company_view()
@awaited(gettext_lazy("Visits that come before their material"))
def late_material(request: HttpRequest, company: Company) -> HttpResponse:
    """Tell a week that was shown before this was known to show itself again, if any visit is to be
    marked; else to say no more of it."""
    late = answer_for_page(late_visits, company=company, now=timezone.now())
    if request.headers.get("HX-Request") != "true":
        return redirect("web:week")
    return HttpResponse(headers={"HX-Refresh": "true"} if late else {})


@require_safe
@company_view()
def house_weeks(request: HttpRequest, company: Company, day: date | None = None) -> HttpResponse:
    """Show houses by weeks from that of a day on, today's where none is given."""
    now = timezone.now()
    page = house_weeks_page(company, day or _today(company), request.GET.dict(), now=now)
    return _shown(request, "web/house_weeks.html", company, page)


def _today(company: Company) -> date:
    return timezone.now().astimezone(ZoneInfo(company.zone)).date()


def _shown(
    request: HttpRequest, template: str, company: Company, page: WeekPage | HouseWeeksPage
) -> HttpResponse:
    """Return the page; where what was asked for is not there it says so, also to programs."""
    status = 400 if page.filter.faults else 200
    return render(request, template, {"company": company, "page": page}, status=status)
