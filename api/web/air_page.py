"""What a crew's page for readings shows."""

from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID, uuid4
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from api.web.air_form import AirForm
from finishing.models import Crew, House, SentReading
from finishing.queries.readings import LastReading, last_readings
from scheduling.measures import Measures
from scheduling.wording import figure, moment


@dataclass(frozen=True)
class HouseChoice:
    """A house to choose; ``last`` says what was last read in it and when, "" if nothing."""

    house: House
    is_chosen: bool
    last: str


@dataclass(frozen=True)
class AirPage:
    """All that the page shows. sent_as: the id of the form. noted: what has just been noted."""

    crew: Crew
    choices: Sequence[HouseChoice]
    form: AirForm
    sent_as: str
    noted: str = ""


def air_page(crew: Crew, houses: Sequence[House], form: AirForm, *, noted: str = "") -> AirPage:
    """Return the page with its form as typed. The house chosen is among the choices even if the
    crew is not at it (any more)."""
    chosen = str(form["house"].value() or "")
    typed = form.cleaned_data.get("house") if form.is_bound else None
    shown = [*houses] if typed is None or typed in houses else [*houses, typed]
    last = last_readings(crew.company, shown)
    return AirPage(
        crew,
        [
            HouseChoice(
                house,
                str(house.public_id) == chosen,
                _last(last[house.pk], crew) if house.pk in last else "",
            )
            for house in shown
        ],
        form,
        _form_id(form),
        noted,
    )


def noted_text(crew: Crew, sent_as: str) -> str:
    """Say what a form of the crew's noted; "" where there is no such form."""
    try:
        known = SentReading.objects.filter(company=crew.company, crew=crew, sent_as=UUID(sent_as))
    except ValueError:
        return ""
    sent = known.select_related("house").first()
    return _("Noted: %(reading)s in %(house)s.") % _in_words(sent, crew) if sent else ""


def sent_before_text(crew: Crew, first: SentReading) -> str:
    """Say that a form has come before with another reading, which stays."""
    said = _("This was sent before, as %(reading)s in %(house)s. Send again to note this as well.")
    return said % _in_words(first, crew)


def _form_id(form: AirForm) -> str:
    """Return the form's id; another where the one sent is none or is taken."""
    spent = form.is_bound and (form.has_error("sent_as") or form.non_field_errors())
    return str(uuid4() if spent else form["sent_as"].value())


def _in_words(sent: SentReading, crew: Crew) -> dict[str, str]:
    reading = _reading_text(crew, sent.temperature_c, sent.humidity)
    return {"reading": reading, "house": sent.house.name}


def _last(row: LastReading, crew: Crew) -> str:
    return _("%(reading)s, in the hour from %(hour)s") % {
        "reading": _reading_text(crew, row.temperature_c, row.humidity),
        "hour": moment(row.hour, ZoneInfo(crew.zone)),
    }


def _reading_text(crew: Crew, temperature_c: float, humidity: float) -> str:
    temperature = Measures(crew.reads_imperial).temperature(temperature_c)
    return f"{temperature}, {figure(humidity * 100)} %"
