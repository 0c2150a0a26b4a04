"""Looking back: pages, and their tables as files."""

from collections.abc import Iterable, Sequence

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext
from django.views.decorators.http import require_safe

from api.access import company_view
from api.web.forecast_record import forecasts_page, record_cells, record_heading, records_of
from api.web.looking_back import (
    asked_for,
    looked_back,
    looking_back_page,
    lost_cells,
    lost_heading,
    wait_cells,
    waits_heading,
)
from finishing.models import Company
from finishing.services.harmless_csv import harmless_csv

type Table = tuple[Sequence[str], Iterable[Sequence[str | float]]]


@require_safe
@company_view()
def looking_back(request: HttpRequest, company: Company) -> HttpResponse:
    """Show days lost and coats found wet, by house and month."""
    page = looking_back_page(company, asked_for(company, request.GET.dict()), timezone.now())
    return render(request, "web/looking_back.html", {"company": company, "page": page})


@require_safe
@company_view()
def forecasts(request: HttpRequest, company: Company) -> HttpResponse:
    """Show how far forecasts were off."""
    page = forecasts_page(company, timezone.now())
    return render(request, "web/forecasts.html", {"company": company, "page": page})


@require_safe
@company_view()
def looking_back_file(request: HttpRequest, company: Company, table: str) -> HttpResponse:
    """Answer with one of the tables as a file."""
    heading, rows = _table(request, company, table)
    response = HttpResponse(harmless_csv(heading, rows), content_type="text/csv; charset=utf-8")
    response.headers["Content-Disposition"] = f'attachment; filename="{table}.csv"'
    return response


def _table(request: HttpRequest, company: Company, table: str) -> Table:
    now = timezone.now()
    if table == "forecasts":
        records = records_of(company, now)
        rows: list[list[str | float]] = [
            [one.source.name, *record_cells(error)] for one in records for error in one.errors
        ]
        return [gettext("Forecast"), *record_heading()], rows
    if table not in {"days", "waits"}:
        raise Http404("There is no such table.")
    found = looked_back(company, asked_for(company, request.GET.dict()), now)
    if table == "days":
        return lost_heading(), map(lost_cells, found.months)
    return waits_heading(), map(wait_cells, found.waits)
