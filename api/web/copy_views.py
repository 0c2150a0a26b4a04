"""Copying a house: more houses of the same type."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from api.access import company_view
from api.web.copy_form import CopyForm
from api.web.form_group import shown_faults
from api.web.house_edits import house_of, who_edits
from finishing.models import Company
from finishing.queries.houses import size_of
from finishing.queries.rights import Right
from finishing.services.copy_house import copy_house
from finishing.services.errors import InputFaults


@require_http_methods(["GET", "HEAD", "POST"])
@company_view(needs=Right.PLAN)
def copy(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:
    """Ask for names and a day, and make the houses; lead to the only one, or to all houses."""
    house = house_of(company, public_id)
    form = CopyForm(company, request.POST if request.method == "POST" else None)
    if form.is_bound and form.is_valid():
        typed = form.cleaned_data
        try:
            made = copy_house(
                house=house,
                copies=typed["copies"],
                handover_on=typed["handover_on"],
                by=who_edits(request),
                now=timezone.now(),
            )
        except InputFaults as error:  # a name that somebody took a moment ago
            form.add_faults(error.faults)
        else:
            return (
                redirect("web:house", made[0].public_id)
                if len(made) == 1
                else redirect("web:houses")
            )
    context = {
        "company": company,
        "house": house,
        "form": form,
        "faults": shown_faults([form]),
        "size": size_of(house),
    }
    return render(request, "web/copy.html", context, status=422 if form.is_bound else 200)
