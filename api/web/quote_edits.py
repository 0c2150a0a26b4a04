"""Changing and removing a quote: for who plans alone."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from api.access import company_view
from api.web.form_group import shown_faults
from api.web.house_edits import changed_meanwhile, typed_version
from api.web.quote_form import QuoteForm, typed_values
from api.web.quote_views import quote_of
from finishing.models import Company
from finishing.queries.rights import Right
from finishing.services.errors import InputFaults
from finishing.services.quotes import change_quote, remove_quote
from finishing.services.rows import StaleRowsError


@require_http_methods(["GET", "HEAD", "POST"])
@company_view(needs=Right.PLAN)
def edit(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:
    """Change what a quote asks."""
    row = quote_of(company, public_id)
    data = request.POST if request.method == "POST" else None
    form, stale = QuoteForm(company, data, quote=row, initial=typed_values(row)), ""
    if form.is_bound and form.is_valid():
        version = typed_version(request.POST.get("version"))
        try:
            change_quote(quote=row, version=version, values=form.cleaned_data)
        except InputFaults as error:  # it was won, or its name taken, a moment ago
            for fault in error.faults:
                form.add_error(fault.place or None, fault.text)
        except StaleRowsError:
            row = quote_of(company, public_id)
            form, stale = (
                QuoteForm(company, quote=row, initial=typed_values(row)),
                changed_meanwhile(),
            )
        else:
            return redirect("web:quote", public_id)
    context = {"company": company, "quote": row, "form": form, "stale": stale}
    context |= {"faults": shown_faults([form])}
    status = 409 if stale else 422 if form.is_bound else 200
    return render(request, "web/edit_quote.html", context, status=status)


@require_http_methods(["GET", "HEAD", "POST"])
@company_view(needs=Right.PLAN)
def remove(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:
    """Ask whether a quote is to go, and let it go."""
    row, stale = quote_of(company, public_id), ""
    if request.method == "POST":
        try:
            remove_quote(quote=row, version=typed_version(request.POST.get("version")))
        except StaleRowsError:
            row, stale = quote_of(company, public_id), changed_meanwhile()
        else:
            return redirect("web:quotes")
    context = {"company": company, "quote": row, "stale": stale}
    return render(request, "web/remove_quote.html", context, status=409 if stale else 200)
