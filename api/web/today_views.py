"""The start page, and the parts of it that take a moment."""

from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from api.access import company_view
from api.web.awaited import pending
from api.web.today import fit_part, odds_part, risk_heading, today_page
from finishing.models import Company
from scheduling.jobs import look_after_runs
from scheduling.services.odds import current_odds
from scheduling.services.today import fit_today


@require_safe
@company_view()
def today(request: HttpRequest, company: Company) -> HttpResponse:
    """Show what needs a decision today."""
    now = timezone.now()
    look_after_runs(now=now)
    page = today_page(company, now=now)
    day = now.astimezone(ZoneInfo(company.zone)).date()
    return render(request, "web/today.html", {"company": company, "page": page, "today": day})


@require_safe
@company_view()
def today_fit(request: HttpRequest, company: Company) -> HttpResponse:
    """Show how the plan fits what is known now."""
    now = timezone.now()
    if later := pending(request, company, fit_today, now):
        return later
    part = fit_part(company, now=now)
    return render(request, "web/today_fit.html", {"company": company, "part": part})


@require_safe
@company_view()
def today_odds(request: HttpRequest, company: Company) -> HttpResponse:
    """Show the odds of each handover."""
    now = timezone.now()
    if later := pending(request, company, current_odds, now):
        return later
    odds = odds_part(company, now=now)
    context = {"company": company, "odds": odds, "heading": risk_heading(odds)}
    return render(request, "web/today_odds.html", context)
