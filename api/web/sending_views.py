"""Where news is sent to: listed, added, switched off and on, given a new secret, removed."""

from contextlib import suppress
from typing import Any
from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from api.access import company_view
from api.web.house_edits import typed_version, who_edits
from api.web.sending import Endpoint, endpoint_of, endpoint_page, sending_page
from api.web.sending_forms import PushGroup, WebhookGroup
from finishing.models import Company
from finishing.queries.rights import Right
from finishing.services.errors import InputFaults
from finishing.services.rows import StaleRowsError
from scheduling.models import CalendarPush, Webhook
from scheduling.services.endpoints import remove_endpoint, switch
from scheduling.services.pushes import empty_push
from scheduling.services.webhooks import renew_secret, send_test

GROUPS = {"webhook": WebhookGroup, "calendar": PushGroup}
ON, OFF, TEST, SECRET, EMPTY, REMOVE = "on", "off", "test", "secret", "empty", "remove"


@require_safe
@company_view(needs=Right.PLAN)
def sending(request: HttpRequest, company: Company) -> HttpResponse:
    """Show where news goes."""
    context = {"company": company, "page": sending_page(company)}
    return render(request, "web/sending.html", context)


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
@company_view(needs=Right.OWN, writes=Right.OWN)
def new(request: HttpRequest, company: Company, kind: str) -> HttpResponse:
    """Add a webhook, whose secret is shown once, or a calendar on another server."""
    if kind not in GROUPS:
        raise Http404("There is no such kind.")
    group = GROUPS[kind](company, request.POST if request.method == "POST" else None)
    if request.method == "POST" and group.kept(who_edits(request), timezone.now()):
        if isinstance(group, WebhookGroup):
            return _secret(request, company, group.made, group.secret)
        return redirect("web:sending")
    context = {"company": company, "group": group, "kind": kind}
    status = 422 if request.method == "POST" else 200
    return render(request, "web/new_endpoint.html", context, status=status)


@require_safe
@company_view(needs=Right.PLAN)
def endpoint(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:
    """Show one of them and what was sent to it."""
    page = endpoint_page(company, _of(company, public_id))
    return render(request, "web/endpoint.html", {"company": company, "page": page})


@never_cache
@require_POST
@company_view(writes=Right.OWN)
def change(request: HttpRequest, company: Company, public_id: UUID, change: str) -> HttpResponse:
    """Do something with one, unless somebody else has meanwhile: then its page says how it is."""
    row = _of(company, public_id)
    seen: Any = {
        "version": typed_version(request.POST.get("version")),
        "now": timezone.now(),
        "by": who_edits(request),
    }
    with suppress(StaleRowsError):
        if change in {ON, OFF}:
            switch(endpoint=row, on=change == ON, **seen)
        elif change == REMOVE:
            remove_endpoint(endpoint=row, **seen)
            return redirect("web:sending")
        elif change == EMPTY and isinstance(row, CalendarPush):
            empty_push(push=row, **seen)
        elif change == TEST and isinstance(row, Webhook):
            with suppress(InputFaults):  # it has been switched off: its page says so
                send_test(webhook=row, now=seen["now"])
        elif change == SECRET and isinstance(row, Webhook):
            return _secret(request, company, row, renew_secret(webhook=row, **seen))
        else:
            raise Http404("There is no such change.")
    return redirect("web:endpoint", public_id)


def _of(company: Company, public_id: UUID) -> Endpoint:
    row = endpoint_of(company, public_id)
    if row is None:
        raise Http404("There is no such thing.")
    return row


def _secret(request: HttpRequest, company: Company, row: Webhook, secret: str) -> HttpResponse:
    """Show a secret, this once."""
    context = {"company": company, "row": row, "secret": secret}
    return render(request, "web/webhook_secret.html", context)
