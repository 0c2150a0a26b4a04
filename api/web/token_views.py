"""Tokens of the API: shown, made, revoked. For owners alone."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from api.access import company_view
from api.web.house_edits import typed_version, who_edits
from api.web.token_form import TokenForm
from api.web.tokens import TokensPage, tokens_page
from finishing.models import Company
from finishing.queries.rights import Right
from finishing.queries.tokens import tokens_of
from finishing.services.errors import InputFaults
from finishing.services.rows import StaleRowsError
from finishing.services.tokens import make_token, revoke_token


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
@company_view(needs=Right.OWN, writes=Right.OWN)
def tokens(request: HttpRequest, company: Company) -> HttpResponse:
    """Show which programs may do what; make a token, whose secret only this answer has."""
    now = timezone.now()
    if request.method != "POST":
        return _page(request, company, tokens_page(company, now))
    form = TokenForm(company, request.POST)
    if form.is_valid() and (secret := _made(request, form)):
        return _page(request, company, tokens_page(company, now, secret=secret))
    return _page(request, company, tokens_page(company, now, form=form), status=422)


@require_http_methods(["GET", "HEAD", "POST"])
@company_view(needs=Right.OWN, writes=Right.OWN)
def revoke(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:
    """Ask before a token is revoked, then do it."""
    token = get_object_or_404(tokens_of(company), public_id=public_id)
    if request.method != "POST":
        return render(request, "web/revoke_token.html", {"company": company, "token": token})
    version, now = typed_version(request.POST.get("version")), timezone.now()
    try:
        revoke_token(token=token, version=version, now=now, by=who_edits(request))
    except StaleRowsError:
        return _page(request, company, tokens_page(company, now), status=409)
    return redirect(f"{reverse('web:tokens')}?done=revoked")


def _made(request: HttpRequest, form: TokenForm) -> str:
    """Make the token and return its secret; "", with the faults on the form, where it cannot be."""
    try:
        _, secret = make_token(**form.token(), made_by=who_edits(request), now=timezone.now())
    except InputFaults as error:
        for fault in error.faults:
            place = "last_day" if fault.place == "expires_at" else fault.place
            form.add_error(place or None, fault.text)
        return ""
    return secret


def _page(
    request: HttpRequest, company: Company, page: TokensPage, *, status: int = 200
) -> HttpResponse:
    context = {"company": company, "page": page, "done": request.GET.get("done", "")}
    return render(request, "web/tokens.html", context, status=status)
