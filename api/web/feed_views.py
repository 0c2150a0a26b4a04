"""Calendars: listed, made, changed, and given other secret addresses or none."""

from uuid import UUID

from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from api.access import company_view
from api.web.feeds import feeds_page
from api.web.house_edits import who_edits
from api.web.link_form import LinkGroup
from finishing.models import Company, Crew, CrewMember, House
from finishing.queries.rights import Right
from scheduling.models import FeedLink
from scheduling.queries.links import links_of_company
from scheduling.services.links import blank_link, make_page


@never_cache
@require_safe
@company_view(needs=Right.PLAN)
def feeds(request: HttpRequest, company: Company) -> HttpResponse:
    """Show all calendars and pages of crews, with their addresses and when they were fetched."""
    page = feeds_page(company)
    done = request.GET.get("done", "")
    return render(request, "web/feeds.html", {"company": company, "page": page, "done": done})


@require_http_methods(["GET", "HEAD", "POST"])
@company_view(needs=Right.PLAN)
def new(request: HttpRequest, company: Company) -> HttpResponse:
    """Show and save a new calendar of what the address names."""
    if "of" not in request.GET:
        return redirect("web:feeds")
    link = _blank(company, request.GET["of"])
    return _edit(request, company, LinkGroup(company, link, _sent(request)))


@require_http_methods(["GET", "HEAD", "POST"])
@company_view(needs=Right.PLAN)
def options(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:
    """Show and save what a calendar shows."""
    link = get_object_or_404(links_of_company(company), public_id=public_id)
    return _edit(request, company, LinkGroup(company, link, _sent(request)))


@require_POST
@company_view(needs=Right.PLAN)
def make_crew_page(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:  # noqa: ARG001
    """Give a crew its page for a phone; public_id: the crew's."""
    make_page(crew=get_object_or_404(Crew, company=company, public_id=public_id))
    return to_list("made", public_id)


def to_list(done: str, public_id: UUID) -> HttpResponse:
    """Lead back to the list, to the line of which something was done."""
    return redirect(f"{reverse('web:feeds')}?done={done}#link-{public_id}")


def _edit(request: HttpRequest, company: Company, group: LinkGroup) -> HttpResponse:
    if request.method == "POST" and group.kept(who_edits(request), timezone.now()):
        return to_list("saved", group.link.public_id)
    status = 200 if request.method != "POST" else 409 if group.stale else 422
    context = {"company": company, "group": group, "link": group.link}
    return render(request, "web/feed_options.html", context, status=status)


def _sent(request: HttpRequest) -> QueryDict | None:
    return request.POST if request.method == "POST" else None


def _blank(company: Company, of: str) -> FeedLink:
    """Return a calendar that is not stored of what is named, "house:<id>"; 404 for none of ours."""
    kind, _, value = of.partition(":")
    try:
        match kind:
            case FeedLink.Kind.CREW:
                return blank_link(
                    company=company, crew=get_object_or_404(Crew, company=company, public_id=value)
                )
            case FeedLink.Kind.HOUSE:
                return blank_link(
                    company=company,
                    house=get_object_or_404(House, company=company, public_id=value),
                )
            case FeedLink.Kind.PERSON:
                if CrewMember.objects.filter(company=company, name=value).exists():
                    return blank_link(company=company, person=value)
            case FeedLink.Kind.COMPANY:
                return blank_link(company=company)
    except ValidationError:
        pass  # no id at all
    raise Http404("There is nothing of that name.")
