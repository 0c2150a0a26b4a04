"""A new house as it is typed."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from api.web.day_field import DayField
from api.web.room_form import level_choices
from api.web.typed_figures import FigureField
from finishing.models import Company
from finishing.models.house import LIMITS
from finishing.models.zones import validate_zone
from finishing.services.new_house import new_area_faults, new_house_faults
from scheduling.field_wording import FIELDS


def _place(name: str) -> FigureField:
    least, most = LIMITS[name]
    return FigureField(
        label=FIELDS[name],
        required=False,
        min_value=least,
        max_value=most,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )


class NewHouseForm(forms.Form):
    """What a house is started with; level: what its rows of rooms are filled in with."""

    name = forms.CharField(label=FIELDS["name"], max_length=120)
    handover_on = DayField(label=FIELDS["handover_on"], required=True)
    zone = forms.CharField(label=FIELDS["zone"], max_length=60, validators=[validate_zone])
    address = forms.CharField(label=FIELDS["address"], max_length=250, required=False)
    latitude = _place("latitude")
    longitude = _place("longitude")
    areas = forms.CharField(
        label=_("Areas, one a line"),
        widget=forms.Textarea(attrs={"rows": 4}),
        help_text=_("Floors or wings, in the order in which they are handed over."),
        error_messages={"required": _("Name at least one area: its rooms come next.")},
    )
    level = forms.ChoiceField(label=_("Usual finish level"), required=False)

    def __init__(self, company: Company, data: Any = None, **more: Any) -> None:
        initial = {"zone": company.zone, "areas": _("Ground floor")}
        super().__init__(data, **{"initial": initial, **more})
        self.company = company
        level = self.fields["level"]
        assert isinstance(level, forms.ChoiceField)
        level.choices = level_choices(_("the company's usual one"))

    def clean_areas(self) -> list[str]:
        lines = self.cleaned_data["areas"].splitlines()
        return [line.strip() for line in lines if line.strip()]

    def clean(self) -> dict[str, Any]:
        said = self.cleaned_data
        for fault in (
            *new_house_faults(self.company, said),
            *new_area_faults(said.get("areas", [])),
        ):
            self.add_error(fault.place, fault.text)
        return said
