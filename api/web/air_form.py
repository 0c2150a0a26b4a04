"""A reading as typed on a phone: a house, a temperature, a humidity."""

from collections.abc import Iterable
from typing import Any
from uuid import uuid4

from django import forms
from django.utils.translation import gettext_lazy as _

from api.web.plain_numbers import PlainNumber
from api.web.row_field import RowField, offer
from api.web.sent_form import SentForm
from finishing.models import Company, Crew, House
from finishing.services.errors import Fault
from finishing.services.readings import humidity_faults, temperature_faults

UNITS = (("C", "°C"), ("F", "°F"))


class TypedNumber(PlainNumber):
    """A number with a point or a comma, and with any sort of minus."""

    default_error_messages = {
        "required": _("Type what you read."),
        "invalid": _("This is not a number: type something like 18.5."),
    }

    def clean(self, value: Any) -> Any:
        typed = str(value or "").strip().replace(",", ".").replace("\N{MINUS SIGN}", "-")
        return super().clean(typed)


class AirForm(SentForm):
    """A reading. Any house of the company will do: a page may have been open since yesterday."""

    house: RowField[House] = RowField(
        error_messages={
            "required": _("Choose the house."),
            "invalid_choice": _("This house is not known. Choose another."),
        },
    )
    unit = forms.ChoiceField(choices=UNITS, error_messages={"required": _("Choose °C or °F.")})
    temperature = TypedNumber()
    below_zero = forms.BooleanField(required=False)
    humidity = TypedNumber()

    def __init__(self, company: Company, data: Any = None, **values: Any) -> None:
        super().__init__(data, **values)
        offer(self, "house", company, House.objects.filter(company=company))

    def clean_humidity(self) -> float:
        percent = float(self.cleaned_data["humidity"])
        self._add(humidity_faults(percent))
        return percent

    def clean(self) -> dict[str, Any]:
        """Judge the temperature last: a phone's pad of figures may have no minus, so there is a
        box for it."""
        cleaned = self.cleaned_data
        if (temperature := cleaned.get("temperature")) is not None:
            if cleaned.get("below_zero"):
                cleaned["temperature"] = temperature = -abs(temperature)
            self._add(temperature_faults(temperature, cleaned.get("unit", "C")))
        return cleaned

    def _add(self, faults: Iterable[Fault]) -> None:
        for fault in faults:
            self.add_error(fault.place, fault.text)


def new_form(crew: Crew, houses: list[House]) -> AirForm:
    """Return a form with an id of its own; where there is one house, it is that."""
    first = {
        "sent_as": uuid4(),
        "unit": "F" if crew.reads_imperial else "C",
        "house": houses[0].public_id if len(houses) == 1 else None,
    }
    return AirForm(crew.company, initial=first)
