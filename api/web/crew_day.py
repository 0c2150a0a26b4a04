"""A crew's page on a phone: its visits, and what it says of them. Its address is the key."""

from datetime import date, datetime
from pathlib import Path
from uuid import UUID

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _

from api.web.crew_access import crew_view
from api.web.crew_forms import (
    FORMS,
    CannotWorkForm,
    ExtraWorkForm,
    FinishedForm,
    NotDryForm,
    TapForm,
)
from api.web.crew_news import SEEN, took_note
from api.web.crew_page import crew_page
from finishing.models import Crew
from finishing.services.errors import InputFaults
from scheduling.models import SentReport, Visit
from scheduling.services.for_the_office import Hindrance, say_cannot_work, say_extra_work
from scheduling.services.sent_reports import OtherReportError, Sent
from scheduling.services.visit_reports import say_finished, say_not_dry, say_started

OWN_WORDS = ("house", "photo", "time", "work")
"""Places of faults that say by themselves what is wrong; others are of a room's work."""
WORKER = Path(__file__).parent / "static" / "web" / "crew_worker.js"


@crew_view
def crew_day(request: HttpRequest, crew: Crew, day: date | None = None) -> HttpResponse:
    """Show today and tomorrow, or a day; or take what the crew says of a visit."""
    if request.method == "POST":
        return _taken(request, crew, day)
    page = crew_page(crew, day, timezone.now(), noted=request.GET.get("noted", ""))
    return render(request, "web/crew_day.html", {"page": page})


@crew_view
def crew_worker(request: HttpRequest, crew: Crew) -> HttpResponse:  # noqa: ARG001 - of any crew
    """Answer with the script that opens this crew's page without signal: it may do so for what
    lies beside its own address, and no more."""
    return HttpResponse(WORKER.read_bytes(), content_type="text/javascript; charset=utf-8")


def _taken(request: HttpRequest, crew: Crew, day: date | None) -> HttpResponse:
    """Note a form once, and lead to the page that says so: to load that again sends nothing."""
    now = timezone.now()
    if request.POST.get("action") == SEEN:
        return _seen(request, crew, now)
    visit = _visit(crew, request.POST.get("visit", ""))
    kind = FORMS.get(request.POST.get("action", ""))
    if visit is None or kind is None:
        said = _("This visit is not yours any more. Load the page again.")
        return render(request, "web/crew_refused.html", {"text": said}, status=404)
    form = kind(visit.content["tasks"], request.POST, files=request.FILES)
    form.check_age(now)
    if form.is_valid() and (sent := _noted(form, crew, visit, now)):
        return HttpResponseRedirect(f"{request.path}?noted={sent.sent_as}#visit-{visit.public_id}")
    page = crew_page(crew, day, now, sent=(visit.public_id, form))
    return render(request, "web/crew_day.html", {"page": page}, status=422)


def _seen(request: HttpRequest, crew: Crew, now: datetime) -> HttpResponse:
    if took_note(crew, request.POST.get("revision", ""), now):
        return HttpResponseRedirect(request.path)
    said = _("There is no such plan. Load the page again.")
    return render(request, "web/crew_refused.html", {"text": said}, status=404)


def _visit(crew: Crew, public_id: str) -> Visit | None:
    """Return a visit of the crew's, also one that has been cancelled since the page was loaded."""
    try:
        rows = Visit.objects.filter(company=crew.company, crew=crew, public_id=UUID(public_id))
    except ValueError:
        return None
    return rows.select_related("house").first()


def _noted(form: TapForm, crew: Crew, visit: Visit, now: datetime) -> SentReport | None:
    """Return what was noted; None where it could not be, with the reasons in the form."""
    sent = Sent(form.cleaned_data["sent_as"], crew, visit, form.tapped(now), now)
    try:
        return _say(form, sent)
    except OtherReportError:
        form.is_spent = True
        form.add_error(
            None, _("This was sent before, saying something else. Send again to note this as well.")
        )
    except InputFaults as error:
        for fault in error.faults:
            form.add_error(None, fault.text if fault.place in OWN_WORDS else str(fault))
    return None


def _say(form: TapForm, sent: Sent) -> SentReport:
    said = form.cleaned_data
    match form:
        case FinishedForm():
            return say_finished(sent, form.left(), said["people"])
        case NotDryForm():
            return say_not_dry(sent, said["wet"], form.again_in())
        case CannotWorkForm():
            photo = said["photo"].read() if said["photo"] else b""
            why = Hindrance(said["reason"], said["item"], said["note"], photo)
            return say_cannot_work(sent, why)
        case ExtraWorkForm():
            minutes = round(said["hours"] * 60)
            return say_extra_work(sent, what=said["what"], person_minutes=minutes)
        case _:
            return say_started(sent)
