"""Publishing from a page: look at what crews would be told, tell them, take it back."""

from contextlib import suppress
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from api.access import company_view
from api.web.house_edits import typed_version, who_edits
from api.web.publishing import publishing_page
from finishing.models import Company
from finishing.services.rows import StaleRowsError
from scheduling.jobs import tell_odds_soon
from scheduling.models import Outgoing
from scheduling.publish_wording import take_back_refusal
from scheduling.queries.plans import plan_of
from scheduling.services.outbox import send_again
from scheduling.services.publish import PublishError, publish_plan
from scheduling.services.take_back import TakeBackError, take_back


@require_safe
@company_view()
def publishing(request: HttpRequest, company: Company) -> HttpResponse:
    """Show what publishing would tell the crews, and what has been published."""
    return _page(request, company)


@require_POST
@company_view()
def publish(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:
    """Publish the working plan, if it is the plan that was looked at."""
    plan = plan_of(company, public_id)
    now, by = timezone.now(), who_edits(request)
    try:
        publish_plan(company=company, now=now, looked_at=plan, by=by, tell=tell_odds_soon)
    except PublishError as error:
        return _page(request, company, str(error))
    return redirect("web:publishing")


@require_POST
@company_view()
def take_last_back(request: HttpRequest, company: Company, revision: int) -> HttpResponse:
    """Show crews again what they saw before the last publication."""
    now, by = timezone.now(), who_edits(request)
    try:
        take_back(company=company, revision=revision, now=now, by=by, tell=tell_odds_soon)
    except TakeBackError as error:
        return _page(request, company, take_back_refusal(error.code, error.values))
    except PublishError as error:
        return _page(request, company, str(error))
    return redirect("web:publishing")


@require_POST
@company_view()
def again(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:
    """Send something once more; a press on a page that is no longer true does nothing."""
    row = get_object_or_404(Outgoing, company=company, public_id=public_id)
    with suppress(StaleRowsError):
        send_again(row=row, version=typed_version(request.POST.get("version")), now=timezone.now())
    endpoint = row.webhook or row.calendar
    if endpoint is not None:
        return redirect("web:endpoint", endpoint.public_id)
    return redirect(reverse("web:publishing") + "#sent")


def _page(request: HttpRequest, company: Company, refusal: str = "") -> HttpResponse:
    page = publishing_page(company, now=timezone.now())
    context = {"company": company, "page": page, "refusal": refusal}
    return render(request, "web/publishing.html", context, status=409 if refusal else 200)
