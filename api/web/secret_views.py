"""Secret addresses ended, or ended and replaced: of calendars and of crews' pages."""

from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from api.access import company_view
from api.web.feed_views import to_list
from api.web.house_edits import typed_version, who_edits
from finishing.models import Company
from finishing.queries.rights import Right
from finishing.services.rows import StaleRowsError
from scheduling.models import CrewPage
from scheduling.queries.links import links_of_company
from scheduling.services.link_secrets import Secretive
from scheduling.services.links import renew_seen_link, revoke_seen_link

RENEW, REVOKE = "renew", "revoke"


@require_http_methods(["GET", "HEAD", "POST"])
@company_view(needs=Right.OWN)
def change_feed(
    request: HttpRequest, company: Company, public_id: UUID, change: str
) -> HttpResponse:
    """Ask before a calendar's address is renewed or revoked, then do it."""
    link = get_object_or_404(links_of_company(company), public_id=public_id)
    return _change(request, company, link, change)


@require_http_methods(["GET", "HEAD", "POST"])
@company_view(needs=Right.OWN)
def change_crew_page(
    request: HttpRequest, company: Company, public_id: UUID, change: str
) -> HttpResponse:
    """Ask before the address of a crew's page is renewed or revoked, then do it."""
    pages = CrewPage.objects.filter(company=company).select_related("crew")
    return _change(request, company, get_object_or_404(pages, public_id=public_id), change)


def _change(request: HttpRequest, company: Company, link: Secretive, change: str) -> HttpResponse:
    if change not in {RENEW, REVOKE}:
        raise Http404("There is no such change.")
    if request.method != "POST":
        return _ask(request, company, link, change)
    generation = typed_version(request.POST.get("generation"))
    who, now = who_edits(request), timezone.now()
    try:
        if change == RENEW:
            renew_seen_link(link=link, generation=generation, now=now, by=who)
        else:
            revoke_seen_link(link=link, generation=generation, now=now, by=who)
    except StaleRowsError:
        link.refresh_from_db()
        return _ask(request, company, link, change, is_stale=True)
    return to_list(change, link.public_id)


def _ask(
    request: HttpRequest, company: Company, link: Secretive, change: str, *, is_stale: bool = False
) -> HttpResponse:
    context = {
        "company": company,
        "link": link,
        "is_page": isinstance(link, CrewPage),
        "change": change,
        "is_stale": is_stale,
    }
    return render(request, "web/feed_ask.html", context, status=409 if is_stale else 200)
