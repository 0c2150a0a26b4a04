"""A house as it is on site: what it offers, who else has it, when it is handed over."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from api.access import company_view
from api.web.done_page import DONE
from api.web.house_edits import changed_meanwhile, house_of, typed_version, who_edits
from api.web.house_parts import save_part, show_page
from api.web.readiness import readiness_alone
from api.web.site_page import SITE
from finishing.models import Company
from finishing.services.readiness import tick_readiness
from finishing.services.rows import StaleRowsError


@require_POST
@company_view()
def tick(request: HttpRequest, company: Company, public_id: UUID, item: str) -> HttpResponse:
    """Note that a line of the readiness list is done, or open again."""
    house = house_of(company, public_id)
    line = get_object_or_404(house.readiness.all(), item=item)
    now, refusal = timezone.now(), ""
    try:
        tick_readiness(
            line=line,
            done=request.POST.get("done") == "yes",
            version=typed_version(request.POST.get("version")),
            by=who_edits(request),
            now=now,
        )
    except StaleRowsError:
        refusal = changed_meanwhile()
    if not refusal and request.headers.get("HX-Request") != "true":
        return redirect(reverse("web:house", args=[public_id]) + "#readiness")
    part = readiness_alone(company, house, now=now, refusal=refusal)
    alone = request.headers.get("HX-Request") == "true"
    template = "web/readiness.html" if alone else "web/readiness_refused.html"
    return render(
        request, template, {"company": company, "part": part}, status=200 if alone else 409
    )


@require_safe
@company_view()
def site(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:
    """Show what a house offers, who else has it, and its days, to be edited."""
    return show_page(request, company, public_id, SITE)


@require_POST
@company_view()
def save_site(request: HttpRequest, company: Company, public_id: UUID, part: str) -> HttpResponse:
    """Save one section of that page; part: its name."""
    return save_part(request, company, public_id, part, SITE)


@require_safe
@company_view()
def done(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:
    """Show how far each area of a house is, and its odd jobs, to be edited."""
    return show_page(request, company, public_id, DONE)


@require_POST
@company_view()
def save_done(request: HttpRequest, company: Company, public_id: UUID, part: str) -> HttpResponse:
    """Save one section of that page; part: its name."""
    return save_part(request, company, public_id, part, DONE)
