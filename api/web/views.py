"""Pages: the request in, a template out. The clock is read here and nowhere below."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_safe

from api.access import company_view, may_plan
from api.web.awaited import awaited
from api.web.company_air import air_part, company_air_page
from api.web.house import house_page
from api.web.house_curves import house_air_page
from api.web.houses import house_list
from finishing.models import Company


@require_safe
@company_view()
def company_air(request: HttpRequest, company: Company) -> HttpResponse:
    """Show where air comes from."""
    page = company_air_page(company, now=timezone.now())
    return render(request, "web/company_air.html", {"company": company, "page": page})


@require_safe
@company_view()
@awaited(gettext_lazy("Air in the houses"))
def air_now(request: HttpRequest, company: Company) -> HttpResponse:
    """Show the air in the houses, and which visits the newest air no longer fits."""
    part = air_part(company, now=timezone.now())
    return render(request, "web/air_now.html", {"company": company, "part": part})


@require_safe
@company_view()
def houses(request: HttpRequest, company: Company) -> HttpResponse:
    """List the company's houses with their handovers."""
    return render(request, "web/houses.html", {"company": company, "page": house_list(company)})


@require_safe
@company_view()
def house(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:
    """Show one house: what is to be finished, and what is planned when."""
    page = house_page(company, public_id, now=timezone.now(), with_prices=may_plan(request))
    return render(request, "web/house.html", {"company": company, "page": page})


@require_safe
@company_view()
@awaited(gettext_lazy("Coats and air"))
def house_air(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:
    """Show how the coats of a house dry, and the air that they dry in."""
    page = house_air_page(company, public_id, now=timezone.now())
    return render(request, "web/house_air.html", {"company": company, "page": page})
