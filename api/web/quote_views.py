"""Quotes for houses not yet won: for who plans alone."""

from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from api.access import company_view
from api.web.form_group import shown_faults
from api.web.house_edits import who_edits
from api.web.quote_form import QuoteForm, WinForm
from finishing.models import Company, Quote
from finishing.queries.rights import Right
from finishing.services.errors import InputFaults
from finishing.services.quotes import make_quote, win_quote
from finishing.services.rows import StaleRowsError
from scheduling.cost_wording import Unpriced, known_amount, part_amounts, part_names, unpriced_of
from scheduling.money_wording import amount
from scheduling.services.quotes import cost_found, price_found, work_out_quote
from scheduling.wording import day, figure, hold_sentence, moment


@dataclass(frozen=True)
class QuotePage:
    """A quote in words; found: whether anything has been found out yet."""

    quote: Quote
    found: bool
    found_at: str = ""
    hours: str = ""
    kg: str = ""
    powder_kg: str = ""
    tape_m: str = ""
    costs: tuple[tuple[str, str], ...] = ()
    price: str = ""
    unpriced: Unpriced | None = None
    handover: str = ""
    odds: str = ""
    holds_on: str = ""
    holds: tuple[str, ...] = ()


@require_http_methods(["GET", "HEAD", "POST"])
@company_view(needs=Right.PLAN)
def quotes(request: HttpRequest, company: Company) -> HttpResponse:
    """List the quotes, and take a new one."""
    form = QuoteForm(company, request.POST if request.method == "POST" else None)
    if form.is_bound and form.is_valid():
        try:
            quote = make_quote(company=company, values=form.cleaned_data)
        except InputFaults as error:  # a name that somebody took a moment ago
            for fault in error.faults:
                form.add_error(fault.place, fault.text)
        else:
            return redirect("web:quote", quote.public_id)
    rows = Quote.objects.filter(company=company).select_related("won")
    lines = [(row, amount(price_found(row), company) if row.found else "") for row in rows]
    context = {"company": company, "lines": lines, "form": form, "faults": shown_faults([form])}
    return render(request, "web/quotes.html", context, status=422 if form.is_bound else 200)


@require_safe
@company_view(needs=Right.PLAN)
def quote(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:
    """Show a quote, on a sheet for paper."""
    return _page(request, company, quote_of(company, public_id))


@require_POST
@company_view(needs=Right.PLAN)
def work_out(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:
    """Find out what a quote comes to, beside the present plan."""
    row = quote_of(company, public_id)
    try:
        work_out_quote(quote=row, by=who_edits(request), now=timezone.now())
    except InputFaults as error:
        return _page(request, company, row, error=error)
    except StaleRowsError:
        return _page(request, company, quote_of(company, public_id), status=409)
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
        "page": _in_words(row),
        "form": form or WinForm(initial=initial),
        "refusals": [fault.text for fault in error.faults] if error else [],
        "is_stale": status == 409,
    }
    return render(request, "web/quote.html", context, status=422 if form or error else status)


def _in_words(row: Quote) -> QuotePage:
    found, company = row.found, row.company
    if not found or row.found_at is None:
        return QuotePage(row, found=False)
    cost = cost_found(row)
    in_time, holds_on = found["in_time"], found["holds_on"]
    powder = found["material"].get("powder_kg", 0)  # not kept with what was found out before
    return QuotePage(
        row,
        found=True,
        found_at=moment(row.found_at, ZoneInfo(company.zone)),
        hours=figure(found["person_minutes"] / 60),
        kg=figure(found["material"]["kg"]),
        powder_kg=figure(powder) if powder else "",
        tape_m=figure(found["material"]["tape_m"]),
        costs=tuple(zip(part_names(), part_amounts(cost, company), strict=True)),
        price=known_amount(price_found(row), company, known=not cost.unpriced),
        unpriced=unpriced_of(cost.unpriced),
        handover=day(found["handover_on"]) if found["handover_on"] else "",
        odds=f"{in_time:.0%}" if in_time is not None else "",
        holds_on=day(date.fromisoformat(holds_on)) if holds_on else "",
        holds=tuple(hold_sentence(hold) for hold in found["holds"]),
    )
