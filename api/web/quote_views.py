"""Quotes for houses not yet won: for who plans alone."""

from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from api.access import company_view
from api.web.form_group import shown_faults
from api.web.house_edits import who_edits
from api.web.quote_form import QuoteForm, WinForm
from api.web.quote_page import price_said, quote_page
from finishing.models import Company, Quote
from finishing.queries.rights import Right
from finishing.services.errors import InputFaults
from finishing.services.quotes import make_quote, win_quote
from finishing.services.rows import StaleRowsError
from scheduling.jobs import look_after_runs, request_quote_run
from scheduling.queries.runs import UNFINISHED, quote_runs
from scheduling.services.quotes import is_from_takeoff, is_of_some_work
from scheduling.services.stop import stop_run


@require_http_methods(["GET", "HEAD", "POST"])
@company_view(needs=Right.PLAN)
def quotes(request: HttpRequest, company: Company) -> HttpResponse:
    """List the quotes, and take a new one."""
    look_after_runs(now=timezone.now())
    form = QuoteForm(company, request.POST if request.method == "POST" else None)
    if form.is_bound and form.is_valid():
        try:
            quote = make_quote(company=company, values=form.cleaned_data)
        except InputFaults as error:  # a name that somebody took a moment ago
            for fault in error.faults:
                form.add_error(fault.place, fault.text)
        else:
            return redirect("web:quote", quote.public_id)
    lines = _lines(company)
    context = {"company": company, "lines": lines, "form": form, "faults": shown_faults([form])}
    return render(request, "web/quotes.html", context, status=422 if form.is_bound else 200)


@require_safe
@company_view(needs=Right.PLAN)
def quote(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:
    """Show a quote, on a sheet for paper, and how far its run is."""
    look_after_runs(now=timezone.now())
    return _page(request, company, quote_of(company, public_id))


@require_POST
@company_view(needs=Right.PLAN)
def work_out(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:
    """Have it found out what a quote comes to, beside the present plan."""
    row = quote_of(company, public_id)
    try:
        request_quote_run(quote=row, now=timezone.now())
    except InputFaults as error:
        return _page(request, company, row, error=error)
    return redirect("web:quote", row.public_id)


@require_POST
@company_view(needs=Right.PLAN)
def stop(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:  # noqa: ARG001
    """End the search of a quote's run with the best it has found."""
    row = quote_of(company, public_id)
    if run := quote_runs([row]).get(row.pk):
        stop_run(run=run)
    return redirect("web:quote", row.public_id)


@require_POST
@company_view(needs=Right.PLAN)
def win(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:
    """Make the house of a quote, and lead to it."""
    row, form = quote_of(company, public_id), WinForm(request.POST)
    if not form.is_valid():
        return _page(request, company, row, form=form)
    try:
        house = win_quote(quote=row, by=who_edits(request), now=timezone.now(), **form.cleaned_data)
    except InputFaults as error:
        return _page(request, company, row, error=error)
    except StaleRowsError:
        return _page(request, company, quote_of(company, public_id), status=409)
    return redirect("web:house", house.public_id)


def quote_of(company: Company, public_id: UUID) -> Quote:
    """Return a quote of the company; raise Quote.DoesNotExist for that of another."""
    rows = Quote.objects.select_related("company", "like__company", "like__air_source", "won")
    return rows.get(company=company, public_id=public_id)


def _lines(company: Company) -> list[tuple[Quote, str, bool]]:
    """Return each quote with its price, if it is known, and whether it is being worked out."""
    rows = list(Quote.objects.filter(company=company).select_related("company", "won"))
    going_on = {pk for pk, run in quote_runs(rows).items() if run.status in UNFINISHED}
    return [(row, _price_of(row), row.pk in going_on) for row in rows]


def _price_of(row: Quote) -> str:
    if not row.found or is_of_some_work(row):
        return ""
    said = price_said(row)
    return _("%(price)s, no handover yet") % {"price": said} if is_from_takeoff(row) else said


def _page(
    request: HttpRequest,
    company: Company,
    row: Quote,
    *,
    form: WinForm | None = None,
    error: InputFaults | None = None,
    status: int = 200,
) -> HttpResponse:
    initial = {"version": row.version, "handover_on": row.found.get("handover_on")}
    context: dict[str, Any] = {
        "company": company,
        "page": quote_page(row, now=timezone.now()),
        "form": form or WinForm(initial=initial),
        "refusals": [fault.text for fault in error.faults] if error else [],
        "is_stale": status == 409,
    }
    return render(request, "web/quote.html", context, status=422 if form or error else status)
