"""Pay: what is agreed, and each crew's sheet. Only who plans sees it."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from api.access import company_view
from api.row_ids import own_rows
from api.web.company_part import page_of_group
from api.web.pay_form import PayTermsGroup
from api.web.pay_sheet import sheet_heading, sheet_rows, shown_sheet, stored_sheet
from finishing.models import Company, Crew
from finishing.queries.rights import Right
from finishing.services.harmless_csv import harmless_csv

pay = page_of_group(PayTermsGroup, name="pay", template="web/pay.html", needs=Right.PLAN)


@require_safe
@company_view(needs=Right.PLAN)
def sheet(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:
    """Show a crew's pay for a period, as it is printed."""
    crew = get_object_or_404(own_rows(company, Crew), public_id=public_id)
    page = shown_sheet(company, crew, request.GET.dict(), timezone.now())
    context = {"company": company, "page": page}
    return render(request, "web/pay_sheet.html", context, status=422 if page.fault else 200)


@require_safe
@company_view(needs=Right.PLAN)
def sheet_file(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:
    """Answer with the same as a file."""
    crew = get_object_or_404(own_rows(company, Crew), public_id=public_id)
    found, _fault = stored_sheet(company, crew, request.GET.dict(), timezone.now())
    text = harmless_csv(sheet_heading(), sheet_rows(found, company))
    response = HttpResponse(text, content_type="text/csv; charset=utf-8")
    name = f"pay-{found.first}-{found.last}.csv"
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return response
