"""The company: what it plans with besides its houses."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from api.access import company_view
from api.web.company_history import company_history_page
from api.web.company_part import page_of_group
from api.web.rates_form import RatesGroup
from api.web.settings_form import SettingsGroup
from finishing.models import Company
from finishing.queries.rights import Right


@require_safe
@company_view()
def company_hub(request: HttpRequest, company: Company) -> HttpResponse:
    """Lead to the pages about what the company plans with."""
    return render(request, "web/company.html", {"company": company})


@require_safe
@company_view()
def company_history(request: HttpRequest, company: Company) -> HttpResponse:
    """Show who edited what of all that plans are made with besides the houses."""
    page = company_history_page(company, request.GET.get("page", "1"))
    return render(request, "web/company_history.html", {"company": company, "page": page})


rates = page_of_group(RatesGroup, name="rates", template="web/rates.html")
settings = page_of_group(
    SettingsGroup, name="settings", template="web/settings.html", writes=Right.OWN
)
