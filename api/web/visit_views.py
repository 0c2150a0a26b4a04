"""The address of a visit that calendar entries hold: it has no secret, and opens for those alone
who may see the visit anyhow."""

from uuid import UUID
from zoneinfo import ZoneInfo

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import translation
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from api.access import company_of
from api.web.known_phone import page_of_phone
from scheduling.models import Visit
from scheduling.services.link_secrets import secret_of


@never_cache
@require_safe
def visit(request: HttpRequest, public_id: UUID) -> HttpResponse:
    """Lead a phone that has used the crew's page there, and the office to the house; tell anybody
    else how to get in. Another company's visit is not there."""
    rows = Visit.objects.select_related("crew__company", "house")
    found = rows.filter(public_id=public_id).first()
    page = page_of_phone(request, found.crew) if found else None
    secret = secret_of(page) if page else None
    if found and secret:
        return _to_crew_page(found, secret)
    if request.user.is_authenticated:
        if found is None or found.company != company_of(request):
            raise Http404("There is no such visit.")
        return redirect("web:house", found.house.public_id)
    with translation.override(found.crew.language if found else "en"):
        return render(request, "web/crew_way_in.html", status=403)


def _to_crew_page(found: Visit, secret: str) -> HttpResponse:
    """Lead to the visit on its day; one that was cancelled is on no day any more."""
    day = found.starts_at.astimezone(ZoneInfo(found.crew.zone)).date()
    address = reverse("web:crew_day", args=[secret, day])
    if found.cancelled_at is None:
        address += f"#visit-{found.public_id}"
    response = redirect(address)
    response.headers["Referrer-Policy"] = "no-referrer"
    return response
