"""The start page, and the parts of it that take a moment."""

from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_safe

from api.access import company_view
from api.web.awaited import awaited
from api.web.today import fit_part, odds_part, risk_heading, today_page
from finishing.models import Company
from scheduling.jobs import look_after_runs


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
@awaited(gettext_lazy("Does the plan still fit?"))
def today_fit(request: HttpRequest, company: Company) -> HttpResponse:
    """Show how the plan fits what is known now."""
    part = fit_part(company, now=timezone.now())
    return render(request, "web/today_fit.html", {"company": company, "part": part})


@require_safe
@company_view()
@awaited(gettext_lazy("Odds of the handovers"))
def today_odds(request: HttpRequest, company: Company) -> HttpResponse:
    """Show the odds of each handover."""
    odds = odds_part(company, now=timezone.now())
    context = {"company": company, "odds": odds, "heading": risk_heading(odds)}
    return render(request, "web/today_odds.html", context)
