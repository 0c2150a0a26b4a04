"""Who may sign in: invited, made another role, removed. For owners alone."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from api.access import company_view
from api.web.house_edits import changed_meanwhile, typed_version, who_edits
from api.web.people import people_page
from api.web.people_form import InviteForm, RoleForm, role_form
from api.web.trail import trail_page
from finishing.models import Company, Invitation, User
from finishing.queries.people import people_of
from finishing.queries.rights import Right
from finishing.services.errors import InputFaults
from finishing.services.invitations import invite, send_invitation, withdraw_invitation
from finishing.services.people import LastOwnerError, change_role, remove_person
from finishing.services.rows import StaleRowsError


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
@company_view(needs=Right.OWN)
def people(request: HttpRequest, company: Company) -> HttpResponse:
    """Show who may sign in as what; invite somebody."""
    if request.method != "POST":
        return _page(request, company)
    form = InviteForm(company, request.POST)
    if not form.is_valid():
        return _page(request, company, invite=form, status=422)
    who, now = who_edits(request), timezone.now()
    said = {name: form.cleaned_data[name] for name in ("email", "role", "crew")}
    try:
        invitation = invite(company=company, **said, by=who, now=now)
    except InputFaults as error:
        for fault in error.faults:
            form.add_error(fault.place or None, fault.text)
        return _page(request, company, invite=form, status=422)
    return _back("invited" if send_invitation(invitation, now=now) else "not_sent")


@require_POST
@company_view(needs=Right.OWN)
def set_role(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:
    """Make somebody another role."""
    person = get_object_or_404(people_of(company), public_id=public_id)
    form = role_form(person, request.POST)
    if not form.is_valid():
        return _page(request, company, wrong=(person, form), status=422)
    who, now = who_edits(request), timezone.now()
    try:
        change_role(person=person, **form.cleaned_data, by=who, now=now)
    except LastOwnerError:
        return _page(request, company, refusal=_last_owner(), status=409)
    except StaleRowsError:
        return _page(request, company, refusal=changed_meanwhile(), status=409)
    except InputFaults as error:
        refusal = " ".join(fault.text for fault in error.faults)
        return _page(request, company, refusal=refusal, status=409)
    return _back("changed")


@require_http_methods(["GET", "HEAD", "POST"])
@company_view(needs=Right.OWN)
def remove(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:
    """Ask before somebody's sign-in is taken away, then do it."""
    person = get_object_or_404(people_of(company), public_id=public_id)
    if request.method != "POST":
        return render(request, "web/remove_person.html", {"company": company, "person": person})
    version = typed_version(request.POST.get("version"))
    try:
        remove_person(person=person, version=version, by=who_edits(request), now=timezone.now())
    except LastOwnerError:
        return _page(request, company, refusal=_last_owner(), status=409)
    except StaleRowsError:
        return _page(request, company, refusal=changed_meanwhile(), status=409)
    return _back("removed")


@require_POST
@company_view(needs=Right.OWN)
def withdraw(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:
    """End an invitation."""
    invitation = get_object_or_404(Invitation, company=company, public_id=public_id)
    withdraw_invitation(invitation=invitation, by=who_edits(request), now=timezone.now())
    return _back("withdrawn")


@require_safe
@company_view(needs=Right.OWN)
def trail(request: HttpRequest, company: Company) -> HttpResponse:
    """Show who told crews what and who let whom in."""
    page = trail_page(company, request.GET.get("page", "1"))
    return render(request, "web/trail.html", {"company": company, "page": page})


def _last_owner() -> str:
    return _("This is the only owner. Make somebody else an owner first.")


def _back(done: str) -> HttpResponse:
    return redirect(f"{reverse('web:people')}?done={done}")


def _page(
    request: HttpRequest,
    company: Company,
    *,
    invite: InviteForm | None = None,
    wrong: tuple[User, RoleForm] | None = None,
    refusal: str = "",
    status: int = 200,
) -> HttpResponse:
    reader, now = who_edits(request), timezone.now()
    page = people_page(company, reader, now, invite=invite, wrong=wrong, refusal=refusal)
    context = {"company": company, "page": page, "done": request.GET.get("done", "")}
    return render(request, "web/people.html", context, status=status)
