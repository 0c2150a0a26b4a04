"""Moving visits by hand: a form that answers at once, pins, and the list of them."""

from urllib.parse import urlencode
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from api.access import company_view
from api.web.house_edits import who_edits
from api.web.move_form import MoveForm, read_spot, typed
from api.web.moving import here, move_page, to_text
from api.web.pins import pins_page
from finishing.models import Company, User
from scheduling.move_wording import why_it_stays
from scheduling.queries.pins import pin_of
from scheduling.queries.planned_visits import PlannedVisit, planned_visit
from scheduling.services.moving import (
    MoveAnswer,
    MoveRefusedError,
    StaleVisitError,
    check_move,
    pin_visit,
)
from scheduling.services.pins import end_pins_made_with


@require_http_methods(["GET", "HEAD", "POST"])
@company_view()
def move(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:
    """Ask where a visit is to go and say what comes of it; pin it there where that was asked."""
    visit = planned_visit(company, public_id)
    form = _form(request, visit)
    if not visit.is_current:
        return _page(request, visit, form, status=409 if request.method == "POST" else 200)
    if not form.is_bound or why_it_stays(visit.block, timezone.now()):
        return _page(request, visit, form)
    if not form.is_valid():
        return _page(request, visit, form, status=422)
    if request.POST.get("step") == "pin":
        return _pinned(request, visit, form)
    answer = check_move(visit=visit, spot=form.spot(), now=timezone.now())
    return _page(request, visit, form, answer)


@require_safe
@company_view()
def pins(request: HttpRequest, company: Company) -> HttpResponse:
    """Show the pins to come, and those that the last run had to set aside."""
    page = pins_page(company, now=timezone.now())
    return render(request, "web/pins.html", {"company": company, "page": page})


@require_POST
@company_view()
def end_pin(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:
    """Let the work of a pin, and of those made with it, move again."""
    pin = pin_of(company, public_id)
    end_pins_made_with(pin=pin, now=timezone.now(), by=who_edits(request))
    visit = request.POST.get("visit")
    try:
        return redirect("web:move", UUID(visit)) if visit else redirect("web:pins")
    except ValueError:
        return redirect("web:pins")


def _form(request: HttpRequest, visit: PlannedVisit) -> MoveForm:
    """Return the form as sent, or of the spot that a button or the drawing asks for; else where
    the visit is."""
    sent = request.POST if request.method == "POST" else request.GET
    crew, _, instant = sent.get("to", "").partition("@")
    if spot := read_spot(visit.company, crew, instant):
        return MoveForm(visit.company, typed(spot))
    if request.method == "POST":
        return MoveForm(visit.company, request.POST)
    return MoveForm(visit.company, initial=typed(here(visit.block)))


def _pinned(request: HttpRequest, visit: PlannedVisit, form: MoveForm) -> HttpResponse:
    """Pin the visit and lead to the page that says what gives way; where it will not do, or things
    have changed, show the page that says so."""
    now, user = timezone.now(), request.user
    try:
        pin_visit(
            visit=visit,
            spot=form.spot(),
            now=now,
            seen=request.POST.get("seen", ""),
            user=user if isinstance(user, User) else None,
        )
    except MoveRefusedError as refused:
        return _page(request, visit, form, refused.answer, status=422)
    except StaleVisitError:
        visit = planned_visit(visit.company, visit.public_id)
        return _page(request, visit, form, changed=True, status=409)
    answered = urlencode({"to": to_text(form.spot())})
    return redirect(f"{reverse('web:move', args=[visit.public_id])}?{answered}")


def _page(
    request: HttpRequest,
    visit: PlannedVisit,
    form: MoveForm,
    answer: MoveAnswer | None = None,
    *,
    changed: bool = False,
    status: int = 200,
) -> HttpResponse:
    page = move_page(visit, form, answer, now=timezone.now())
    context = {"company": visit.company, "page": page, "changed": changed}
    return render(request, "web/move.html", context, status=status)
