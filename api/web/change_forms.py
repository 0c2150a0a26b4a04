"""The changes of a scenario as they are typed: a small form for each kind."""

from collections.abc import Iterable, Mapping
from typing import Any, ClassVar
from uuid import UUID

from django import forms
from django.db.models import QuerySet
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from api.web.day_field import DayField
from api.web.row_field import RowField
from api.web.rows_field import RowsField
from api.web.typed_figures import FigureField
from finishing.models import Company, Crew, Dryer, House, JointingSystem
from finishing.models.house import LIMITS
from finishing.models.owned import Owned
from scheduling.services.scenario_changes import (
    CrewLess,
    CrewMore,
    FixedHandover,
    HeatedHouses,
    MoreDryers,
    OtherSystem,
    OtherWeather,
    Saturdays,
    ScenarioChange,
)
from scheduling.services.scenario_faults import DAMPER, MOST_DRYERS, WARMER_C, faults_of

UNKNOWN = _("This one is not known any more: choose another.")


def _row(label: Any, *, required: bool = True) -> RowField[Any]:
    messages = {"invalid_choice": UNKNOWN, "required": _("Choose one.")}
    return RowField(label=label, required=required, error_messages=messages)


def _figure(label: Any, limits: tuple[float, float], **more: Any) -> FigureField:
    least, most = limits
    widget = forms.TextInput(attrs={"inputmode": "text", "autocomplete": "off"})
    return FigureField(label=label, min_value=least, max_value=most, widget=widget, **more)


class ChangeForm(forms.Form):
    """A change of one kind. offers: by field the kind of row offered there."""

    offers: ClassVar[Mapping[str, type[Owned]]] = {}
    blank: ClassVar[Any] = None

    def __init__(self, company: Company, data: Any = None) -> None:
        super().__init__(data)
        self.company = company
        for name, kind in self.offers.items():
            rows = _offered(company, kind)
            field = self.fields[name]
            if isinstance(field, RowsField):
                field.offer(company, rows)
            elif isinstance(field, RowField):
                field.offer(company, rows, blank=None if field.required else self.blank)

    def change(self) -> ScenarioChange:
        """Return what was typed as a change."""
        raise NotImplementedError

    def clean(self) -> dict[str, Any]:
        if not self.errors:
            for name, text in faults_of(self.company, self.change()):
                self.add_error(name if name in self.fields else None, text)
        return self.cleaned_data

    def id_of(self, name: str) -> UUID:
        return UUID(str(self.cleaned_data[name].public_id))

    def ids_of(self, name: str) -> tuple[UUID, ...]:
        return tuple(row.public_id for row in self.cleaned_data[name])


def _offered(company: Company, kind: type[Owned]) -> Iterable[Owned]:
    rows: QuerySet[Any] = kind._default_manager.filter(company=company)
    return rows.order_by("name") if kind is JointingSystem else rows.filter(is_active=True)


class CrewMoreForm(ChangeForm):
    crew = _row(_("Works as this crew does"))
    offers = {"crew": Crew}

    def change(self) -> CrewMore:
        return CrewMore(self.id_of("crew"))


class CrewLessForm(ChangeForm):
    crew = _row(_("Crew that gets no new work"))
    offers = {"crew": Crew}

    def change(self) -> CrewLess:
        return CrewLess(self.id_of("crew"))


class SaturdaysForm(ChangeForm):
    crews: RowsField[Any] = RowsField(label=_("Crews that work on Saturdays"))
    first = DayField(label=_("From"), required=True)
    last = DayField(
        label=_("To"),
        required=True,
        help_text=_("The hours are those of the crew's last working day before the Saturday."),
    )
    offers = {"crews": Crew}

    def change(self) -> Saturdays:
        said = self.cleaned_data
        return Saturdays(self.ids_of("crews"), said["first"], said["last"])


class OtherSystemForm(ChangeForm):
    system = _row(_("Jointing system"))
    houses: RowsField[Any] = RowsField(
        label=_("Houses"),
        required=False,
        help_text=_("None ticked: all houses that have no system of their own."),
    )
    offers = {"system": JointingSystem, "houses": House}

    def change(self) -> OtherSystem:
        return OtherSystem(self.id_of("system"), self.ids_of("houses"))


class HeatedHousesForm(ChangeForm):
    houses: RowsField[Any] = RowsField(label=_("Houses"))
    setpoint_c = _figure(_("Held at, °C"), LIMITS["setpoint_c"])
    from_day = DayField(label=_("From"), help_text=_("Blank: at once."))
    offers = {"houses": House}

    def change(self) -> HeatedHouses:
        said = self.cleaned_data
        return HeatedHouses(self.ids_of("houses"), said["setpoint_c"], said["from_day"])


class MoreDryersForm(ChangeForm):
    dryer = _row(_("Kind"))
    count = forms.IntegerField(
        label=_("How many more"), min_value=1, max_value=MOST_DRYERS, initial=2
    )
    house = _row(_("Where"), required=False)
    offers = {"dryer": Dryer, "house": House}
    blank = _("wherever they help")

    def change(self) -> MoreDryers:
        said = self.cleaned_data
        house = self.id_of("house") if said["house"] else None
        return MoreDryers(self.id_of("dryer"), said["count"], house)


class FixedHandoverForm(ChangeForm):
    house = _row(_("House"))
    day = DayField(label=_("Handed over by"), required=True)
    offers = {"house": House}

    def change(self) -> FixedHandover:
        return FixedHandover(self.id_of("house"), self.cleaned_data["day"])


class OtherWeatherForm(ChangeForm):
    first = DayField(label=_("From"), required=True)
    last = DayField(label=_("To"), required=True)
    points = _figure(
        _("Points of relative humidity more"),
        (100 * DAMPER[0], 100 * DAMPER[1]),
        required=False,
        help_text=_("15: 70 % outdoors becomes 85 %. Less than 0: drier."),
    )
    warmer_c = _figure(
        _("°C warmer"), WARMER_C, required=False, help_text=_("Less than 0: colder.")
    )

    def change(self) -> OtherWeather:
        said = self.cleaned_data
        damper, warmer_c = (said["points"] or 0.0) / 100, said["warmer_c"] or 0.0
        return OtherWeather(said["first"], said["last"], damper, warmer_c)

    def add_error(self, field: str | None, error: Any) -> None:
        super().add_error("points" if field == "damper" else field, error)


FORMS: Mapping[str, type[ChangeForm]] = {
    "crew_more": CrewMoreForm,
    "crew_less": CrewLessForm,
    "saturdays": SaturdaysForm,
    "other_system": OtherSystemForm,
    "heated_houses": HeatedHousesForm,
    "more_dryers": MoreDryersForm,
    "fixed_handover": FixedHandoverForm,
    "other_weather": OtherWeatherForm,
}


class NameForm(forms.Form):
    """What a scenario is called."""

    name = forms.CharField(
        label=_("Name"),
        max_length=120,
        error_messages={"required": _("Give the scenario a name.")},
    )


def nothing_to_offer(form: ChangeForm) -> str:
    """Say what has to be there first where a form has nothing to choose from; "" otherwise."""
    needed = (name for name in form.offers if form.fields[name].required)
    empty = [name for name in needed if not _choices(form, name)]
    return gettext("There is none to choose yet: enter one first.") if empty else ""


def _choices(form: ChangeForm, name: str) -> Any:
    field = form.fields[name]
    assert isinstance(field, RowField | RowsField)
    return field.rows
