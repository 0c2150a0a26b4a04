"""What plans and houses cost: for who plans alone."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_safe

from api.access import company_view
from api.web.awaited import awaited
from api.web.costs import company_costs, house_costs
from api.web.house_edits import house_of
from finishing.models import Company
from finishing.queries.rights import Right


@require_safe
@company_view(needs=Right.PLAN)
@awaited(gettext_lazy("What the plan costs"))
def of_company(request: HttpRequest, company: Company) -> HttpResponse:
    """Show what the working plan costs by house."""
    page = company_costs(company, now=timezone.now())
    return render(request, "web/costs.html", {"company": company, "page": page})


@require_safe
@company_view(needs=Right.PLAN)
@awaited(gettext_lazy("Costs and hours"))
def of_house(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:
    """Show what a house costs in the working plan, and planned hours beside reported ones."""
    page = house_costs(house_of(company, public_id), now=timezone.now())
    return render(request, "web/house_costs.html", {"company": company, "page": page})
