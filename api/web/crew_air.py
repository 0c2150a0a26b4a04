"""A crew's page on a phone, for readings taken in houses; who has its address may use it."""

from datetime import datetime

from django.http import HttpRequest, HttpResponse, HttpResponseNotAllowed, HttpResponseRedirect
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.csrf import csrf_exempt

from api.access import unlogged
from api.web.air_form import AirForm, new_form
from api.web.air_page import AirPage, air_page, noted_text, sent_before_text
from finishing.models import Crew, SentReading
from finishing.services.readings import OtherReadingError, checked_reading, note_sent_reading
from scheduling.queries.crew_houses import houses_of_crew
from scheduling.services.links import link_of_page

METHODS = ("GET", "HEAD", "POST")


@csrf_exempt  # the secret in the path lets one in, no cookie does: there is nothing to forge
def crew_air(request: HttpRequest, secret: str) -> HttpResponse:
    """Show the page, or note the reading sent from it."""
    if request.method not in METHODS:
        return unlogged(HttpResponseNotAllowed(METHODS))
    link = link_of_page(secret)
    if link is None:
        return _refusal(request, _("There is no such page."), 404)
    if link.revoked_at:
        said = _("This page has ended. Ask the office for its new address.")
        return _refusal(request, said, 410)
    answer = _sent if request.method == "POST" else _asked
    return _kept_private(answer(request, link.crew, timezone.now()))


def _asked(request: HttpRequest, crew: Crew, now: datetime) -> HttpResponse:
    houses = houses_of_crew(crew, now)
    noted = noted_text(crew, request.GET.get("noted", ""))
    return _shown(request, air_page(crew, houses, new_form(crew.company, houses), noted=noted))


def _sent(request: HttpRequest, crew: Crew, now: datetime) -> HttpResponse:
    """Note a reading once, and lead to the page that says so: to load that again sends nothing."""
    form = AirForm(crew.company, request.POST)
    if form.is_valid():
        try:
            sent = _note(form, crew, now)
            return HttpResponseRedirect(f"{request.path}?noted={sent.sent_as}")
        except OtherReadingError as error:
            form.add_error(None, sent_before_text(crew, error.first))
    return _shown(request, air_page(crew, houses_of_crew(crew, now), form), status=422)


def _note(form: AirForm, crew: Crew, now: datetime) -> SentReading:
    said = form.cleaned_data
    reading = checked_reading(
        temperature=said["temperature"],
        unit=said["unit"],
        humidity_percent=said["humidity"],
        at=now,
        now=now,
    )
    return note_sent_reading(
        sent_as=said["sent_as"], crew=crew, house=said["house"], reading=reading, at=now
    )


def _shown(request: HttpRequest, page: AirPage, status: int = 200) -> HttpResponse:
    return render(request, "web/crew_air.html", {"page": page}, status=status)


def _refusal(request: HttpRequest, text: str, status: int) -> HttpResponse:
    return _kept_private(render(request, "web/crew_refused.html", {"text": text}, status=status))


def _kept_private(response: HttpResponse) -> HttpResponse:
    """Keep the address out of logs and of what other pages are told, the page out of caches: a
    form that is gone back to is made anew, with an id of its own."""
    response.headers["Cache-Control"] = "no-store"
    response.headers["Referrer-Policy"] = "no-referrer"
    return unlogged(response)
