"""Pages of material: what is needed and ordered, what is in the store, how fast it goes on."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_safe

from api.access import company_view, may_plan
from api.web.awaited import awaited
from api.web.company_part import page_of_group
from api.web.material_page import ORDER_HEADING, material_page, order_rows
from api.web.placing_form import PlacingGroup
from api.web.stock_form import StockGroup
from finishing.models import Company
from finishing.services.harmless_csv import harmless_csv


@require_safe
@company_view()
@awaited(gettext_lazy("Material"))
def material(request: HttpRequest, company: Company) -> HttpResponse:
    """Show what the working plan needs and what to order by when."""
    page = material_page(company, now=timezone.now())
    return render(request, "web/material.html", {"company": company, "page": page})


@require_safe
@company_view()
def orders(request: HttpRequest, company: Company) -> HttpResponse:
    """Answer with the order list as a file."""
    rows = order_rows(company, now=timezone.now(), priced=may_plan(request))
    content = harmless_csv(ORDER_HEADING, rows)
    file = HttpResponse(content, content_type="text/csv; charset=utf-8")
    file.headers["Content-Disposition"] = 'attachment; filename="orders.csv"'
    return file


stock = page_of_group(StockGroup, name="stock", template="web/stock.html")
placing = page_of_group(PlacingGroup, name="placing", template="web/placing.html")
