"""What a house is like, as the office edits it, with the days of its areas."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from api.web.day_field import DayField
from api.web.figure_field import FigureField, WholeField
from api.web.form_group import VersionedForm
from api.web.whole_group import WholeGroup
from finishing.models import Area, House, User
from finishing.models.hours import validate_hours
from finishing.models.house import LIMITS, MOST_WEIGHT
from finishing.models.owned import Row
from finishing.models.zones import validate_zone
from finishing.services.errors import Fault
from finishing.services.house_facts import (
    FACTS,
    AreaDays,
    area_faults,
    edit_house_facts,
    fact_faults,
)
from scheduling.field_wording import FIELDS, field_name
from scheduling.value_wording import HEATING, value_text


def _figure(name: str, **options: Any) -> FigureField:
    least, most = LIMITS[name]
    options = {"label": FIELDS[name], "min_value": least, "max_value": most, **options}
    return FigureField(**options)


def _text(name: str, length: int, **options: Any) -> forms.CharField:
    return forms.CharField(**{"label": FIELDS[name], "max_length": length, **options})


def _tick(name: str) -> forms.BooleanField:
    return forms.BooleanField(label=FIELDS[name], required=False)


class FactsForm(VersionedForm):
    """The house itself; its fields are ``house_facts.FACTS``."""

    name = _text("name", 120)
    address = _text("address", 250, required=False)
    zone = _text(
        "zone",
        60,
        validators=[validate_zone],
        help_text=gettext_lazy("Its days and hours are on this clock, like Europe/Dublin."),
    )
    latitude = _figure("latitude", help_text=gettext_lazy("For its weather, and the way there."))
    longitude = _figure("longitude")
    handover_on = DayField(label=FIELDS["handover_on"], required=True)
    weight = WholeField(
        label=FIELDS["weight"],
        required=True,
        min_value=1,
        max_value=MOST_WEIGHT,
        help_text=gettext_lazy("1 as usual; with 3, a day late here is as bad as three elsewhere."),
    )
    opens_on = DayField(label=FIELDS["opens_on"])
    access = _text(
        "access",
        200,
        required=False,
        validators=[validate_hours],
        help_text=gettext_lazy("Like mon-fri 07:00-17:00; blank: at all hours."),
    )
    is_open = _tick("is_open")
    closed_from = DayField(label=FIELDS["closed_from"])
    heating = forms.ChoiceField(label=FIELDS["heating"], choices=[*HEATING.items()])
    setpoint_c = _figure("setpoint_c")
    heated_from = DayField(
        label=FIELDS["heated_from"], help_text=gettext_lazy("Blank: it is heated already.")
    )
    heat_kw = _figure("heat_kw", help_text=gettext_lazy("Blank: as much as it takes."))
    flame_heater = _tick("flame_heater")
    volume_m3 = _figure("volume_m3", help_text=gettext_lazy("Blank: from its rooms' sizes."))
    air_changes_per_h = _figure("air_changes_per_h", required=True)
    fire_rated = _tick("fire_rated")
    old_joints = _tick("old_joints")

    def legend(self) -> str:
        return _("The house")


class AreaDaysForm(VersionedForm):
    """An area's floor and its own handover."""

    floor = _text("floor", 60, required=False)
    handover_on = DayField(label=FIELDS["handover_on"])

    def __init__(self, area: Area, data: Any, **more: Any) -> None:
        super().__init__(data, **more)
        self.area = area

    def legend(self) -> str:
        return self.area.name

    def days(self) -> AreaDays:
        return AreaDays(place=str(self.prefix), area=self.area, **self.cleaned_data)


class FactsGroup(WholeGroup):
    """The house first, then a form for each of its areas."""

    def build(self) -> list[forms.Form]:
        self.house = House.objects.select_related("company").get(pk=self.house.pk)
        initial = {name: getattr(self.house, name) for name in ("version", *FACTS)}
        areas = list(self.house.areas.all())
        return [
            FactsForm(self.sent(""), initial=initial),
            *(self._area_form(area) for area in areas),
        ]

    def check(self) -> Iterable[Fault]:
        facts = self.forms[0].cleaned_data
        return [*fact_faults(self.house, facts), *area_faults(facts, self._areas())]

    def save(self, by: User, now: datetime) -> None:
        facts = dict(self.forms[0].cleaned_data)
        edit_house_facts(
            house=self.house,
            version=facts.pop("version"),
            facts=facts,
            areas=self._areas(),
            by=by,
            now=now,
        )

    def in_words(self, row: Row) -> str:
        """Name what differs from what was typed."""
        names = FACTS if isinstance(row, House) else ("floor", "handover_on")
        form = next(form for form in self.forms if _row_of(form, self.house).pk == row.pk)
        other = [name for name in names if form.cleaned_data.get(name) != getattr(row, name)]
        zone = ZoneInfo(self.house.zone)
        now = [f"{field_name(n)}: {value_text(n, getattr(row, n), zone)}" for n in other]
        said = "; ".join(now) or _("as you typed it")
        return f"{row}: {said}"

    def _area_form(self, area: Area) -> AreaDaysForm:
        prefix = f"area-{area.public_id}"
        initial = {name: getattr(area, name) for name in ("version", "floor", "handover_on")}
        return AreaDaysForm(area, self.sent(prefix), prefix=prefix, initial=initial)

    def _areas(self) -> list[AreaDays]:
        return [
            form.days()
            for form in self.forms
            if isinstance(form, AreaDaysForm) and form.is_bound and not form.errors
        ]


def _row_of(form: forms.Form, house: House) -> Row:
    return form.area if isinstance(form, AreaDaysForm) else house
