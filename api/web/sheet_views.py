"""Sheets for paper. The clock is read here and nowhere below."""

from datetime import date
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from api.access import company_view
from api.web.crew_sheet import crew_sheet
from api.web.house_sheet import house_sheet
from finishing.models import Company


@require_safe
@company_view()
def crew(request: HttpRequest, company: Company, day: date, public_id: UUID) -> HttpResponse:
    """Show a crew's week as it is printed."""
    sheet = crew_sheet(company, public_id, day, now=timezone.now())
    return render(request, "web/crew_sheet.html", {"company": company, "sheet": sheet})


@require_safe
@company_view()
def house(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:
    """Show a house's handover as it is printed."""
    sheet = house_sheet(company, public_id, now=timezone.now())
    return render(request, "web/house_sheet.html", {"company": company, "sheet": sheet})
