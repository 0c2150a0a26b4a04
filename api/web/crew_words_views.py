"""What crews have said, for the office: their photos, and that something is settled."""

from uuid import UUID

from django.core.exceptions import ObjectDoesNotExist
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from api.access import company_view
from finishing.models import Company, User
from scheduling.models import ExtraWork, Obstacle
from scheduling.queries.for_the_office import KINDS, said_by_crew
from scheduling.services.for_the_office import settle
from scheduling.services.photos import photo_path


@require_safe
@company_view()
def photo(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:  # noqa: ARG001
    """Show the photo that came with an obstacle, to people of its company."""
    row = _row(company, "obstacle", public_id)
    assert isinstance(row, Obstacle)
    path = photo_path(company, row.photo)
    if not row.photo or not path.exists():
        raise Http404("There is no photo.")
    response = HttpResponse(path.read_bytes(), content_type="image/jpeg")
    response.headers["Cache-Control"] = "private, no-cache"
    return response


@require_POST
@company_view()
def settle_word(request: HttpRequest, company: Company, kind: str, public_id: UUID) -> HttpResponse:
    """Note that something a crew said is settled, and lead back to its house."""
    row = _row(company, kind, public_id)
    assert isinstance(request.user, User)
    settle(row, user=request.user, now=timezone.now())
    return redirect("web:house", row.house.public_id)


def _row(company: Company, kind: str, public_id: UUID) -> Obstacle | ExtraWork:
    if kind not in KINDS:
        raise Http404("There is no such thing said.")
    try:
        return said_by_crew(company, kind, public_id)
    except ObjectDoesNotExist as missing:
        raise Http404("There is no such thing said.") from missing
