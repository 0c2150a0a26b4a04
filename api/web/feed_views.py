"""The secret addresses of calendars and phone pages: shown, made, renewed, revoked."""

from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from api.access import company_view
from api.web.feeds import feeds_page
from api.web.house_edits import typed_version
from finishing.models import Company, Crew
from finishing.queries.rights import Right
from finishing.services.rows import StaleRowsError
from scheduling.models import FeedLink
from scheduling.queries.links import links_of_company
from scheduling.services.links import make_link, renew_seen_link, revoke_seen_link

RENEW, REVOKE = "renew", "revoke"


@never_cache
@require_safe
@company_view(needs=Right.OWN)
def feeds(request: HttpRequest, company: Company) -> HttpResponse:
    """Show every crew's addresses and when they were last fetched."""
    page = feeds_page(company)
    done = request.GET.get("done", "")
    return render(request, "web/feeds.html", {"company": company, "page": page, "done": done})


@require_POST
@company_view(needs=Right.OWN)
def make(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:  # noqa: ARG001
    """Give a crew its first addresses; public_id: the crew's."""
    crew = get_object_or_404(Crew, company=company, public_id=public_id)
    make_link(crew=crew)
    return _back("made", crew)


@require_http_methods(["GET", "HEAD", "POST"])
@company_view(needs=Right.OWN)
def change(request: HttpRequest, company: Company, public_id: UUID, change: str) -> HttpResponse:
    """Ask before a crew's addresses are renewed or revoked, then do it; public_id: the crew's."""
    if change not in {RENEW, REVOKE}:
        raise Http404("There is no such change.")
    link = get_object_or_404(links_of_company(company), crew__public_id=public_id)
    if request.method != "POST":
        return _ask(request, company, link, change)
    generation = typed_version(request.POST.get("generation"))
    try:
        if change == RENEW:
            renew_seen_link(link=link, generation=generation)
        else:
            revoke_seen_link(link=link, generation=generation, now=timezone.now())
    except StaleRowsError:
        link.refresh_from_db()
        return _ask(request, company, link, change, is_stale=True)
    return _back(change, link.crew)


def _ask(
    request: HttpRequest, company: Company, link: FeedLink, change: str, *, is_stale: bool = False
) -> HttpResponse:
    context = {"company": company, "link": link, "change": change, "is_stale": is_stale}
    return render(request, "web/feed_ask.html", context, status=409 if is_stale else 200)


def _back(done: str, crew: Crew) -> HttpResponse:
    return redirect(f"{reverse('web:feeds')}?done={done}#crew-{crew.public_id}")
