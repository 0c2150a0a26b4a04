"""A crew's page on a phone, for readings taken in houses; who has its address may use it."""

from datetime import datetime

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.utils import timezone

from api.web.air_form import AirForm, new_form
from api.web.air_page import AirPage, air_page, noted_text, sent_before_text
from api.web.crew_access import crew_view
from finishing.models import Crew, SentReading
from finishing.services.readings import OtherReadingError, checked_reading, note_sent_reading
from scheduling.queries.crew_houses import houses_of_crew


@crew_view
def crew_air(request: HttpRequest, crew: Crew) -> HttpResponse:
    """Show the page, or note the reading sent from it."""
    answer = _sent if request.method == "POST" else _asked
    return answer(request, crew, timezone.now())


def _asked(request: HttpRequest, crew: Crew, now: datetime) -> HttpResponse:
    houses = houses_of_crew(crew, now)
    noted = noted_text(crew, request.GET.get("noted", ""))
    return _shown(request, air_page(crew, houses, new_form(crew, houses), noted=noted))


def _sent(request: HttpRequest, crew: Crew, now: datetime) -> HttpResponse:
    """Note a reading once, and lead to the page that says so: to load that again sends nothing."""
    form = AirForm(crew.company, request.POST)
    form.check_age(now)
    if form.is_valid():
        try:
            sent = _note(form, crew, now)
            return HttpResponseRedirect(f"{request.path}?noted={sent.sent_as}")
        except OtherReadingError as error:
            form.add_error(None, sent_before_text(crew, error.first))
    return _shown(request, air_page(crew, houses_of_crew(crew, now), form), status=422)


def _note(form: AirForm, crew: Crew, now: datetime) -> SentReading:
    said, at = form.cleaned_data, form.tapped(now)
    reading = checked_reading(
        temperature=said["temperature"],
        unit=said["unit"],
        humidity_percent=said["humidity"],
        at=at,
        now=now,
    )
    return note_sent_reading(
        sent_as=said["sent_as"], crew=crew, house=said["house"], reading=reading, at=at
    )


def _shown(request: HttpRequest, page: AirPage, status: int = 200) -> HttpResponse:
    return render(request, "web/crew_air.html", {"page": page}, status=status)
