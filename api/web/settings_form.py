"""What a company plans by, as the office edits it."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo, available_timezones

from django import forms
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from api.web.figure_field import FigureField, WholeField, limited
from api.web.form_group import CompanyGroup, VersionedForm
from api.web.levels_off import (
    LevelOff,
    field_name_of,
    folds,
    off_by_level,
    off_fields,
    off_said,
)
from finishing.models import Change, Company, User
from finishing.models.company import LIMITS
from finishing.models.currencies import MINOR_DIGITS
from finishing.models.owned import Row
from finishing.rules.vocabulary import Family, Stage
from finishing.services.company_settings import SETTINGS, edit_settings, setting_faults
from finishing.services.errors import Fault
from scheduling.wording import listed, stage_name

AIR = {
    "average": gettext_lazy("as forecast, past that as in the week before"),
    "eight_in_ten": gettext_lazy("so damp that waits hold in 8 of 10"),
}
DRYING = {
    "hours": gettext_lazy("at least the compound's hours"),
    "next_day": gettext_lazy("next working day, if the air says dry"),
}

BOARDS = gettext_lazy("Metres of joints are counted with it where rooms have sizes.")


def _figure(
    name: str, label: Any, meaning: Any = "", kind: type[FigureField] = WholeField
) -> FigureField:
    return limited(kind, label, LIMITS[name], meaning)


class SettingsForm(VersionedForm):
    """The company itself; its fields are ``company_settings.SETTINGS``."""

    name = forms.CharField(
        label=gettext_lazy("Name"),
        max_length=120,
        help_text=gettext_lazy("Stands on every page, and in the calendars of crews."),
    )
    country = forms.CharField(
        label=gettext_lazy("Country"),
        max_length=2,
        required=False,
        help_text=gettext_lazy(
            "Two letters such as IE. Another one replaces the public holidays of this year and "
            "the next; days of your own stay."
        ),
    )
    currency = forms.ChoiceField(
        label=gettext_lazy("Currency"),
        required=False,
        choices=[
            ("", gettext_lazy("not chosen")),
            *((code, code) for code in sorted(MINOR_DIGITS)),
        ],
        help_text=gettext_lazy("Of all prices and costs, by its ISO 4217 code."),
    )
    zone = forms.ChoiceField(
        label=gettext_lazy("Time zone"),
        help_text=gettext_lazy("Of new crews and houses; each has its own."),
    )
    planned_air = forms.ChoiceField(
        label=gettext_lazy("Air that plans are made for"),
        choices=[*AIR.items()],
        help_text=gettext_lazy("Damper air makes plans longer, and visits in vain rarer."),
    )
    drying_rule = forms.ChoiceField(
        label=gettext_lazy("When a dry coat may be coated"),
        choices=[*DRYING.items()],
        help_text=gettext_lazy("Where the air takes longer than either, the air decides."),
    )
    family = forms.ChoiceField(
        label=gettext_lazy("Finish levels of new houses"),
        choices=[(family.value, family.value) for family in Family],
        help_text=gettext_lazy("The family that a surface has unless it says another."),
    )
    stages = forms.MultipleChoiceField(
        label=gettext_lazy("Work that you do"),
        widget=forms.CheckboxSelectMultiple,
        help_text=gettext_lazy("What is not ticked is never planned, and nothing waits for it."),
        error_messages={"required": gettext_lazy("Tick at least one.")},
    )
    freeze_days = _figure(
        "freeze_days",
        gettext_lazy("Days that stay as published"),
        gettext_lazy("From today on; replanning leaves the work of these days where it is."),
    )
    extra_hour_price = _figure(
        "extra_hour_price",
        gettext_lazy("Price of an extra hour, late minutes"),
        gettext_lazy("A crew works an hour of overtime where it saves more minutes than that."),
    )
    another_crew_visits = _figure(
        "another_crew_visits",
        gettext_lazy("Another crew in a house, visits"),
        gettext_lazy("Each crew beyond the first counts as so many visits; 0: as none."),
    )
    setup_minutes = _figure(
        "setup_minutes",
        gettext_lazy("Setting up a visit, minutes"),
        gettext_lazy("Of the crew's hours, before the first work of each visit."),
    )
    washup_minutes = _figure(
        "washup_minutes",
        gettext_lazy("Washing up after it, minutes"),
        gettext_lazy("Of the crew's hours, after the last work of each visit."),
    )
    worthwhile_minutes = _figure(
        "worthwhile_minutes",
        gettext_lazy("Shortest visit worth the way, minutes"),
        gettext_lazy("A shorter one counts as two visits where plans are compared."),
    )
    travel_minutes = _figure(
        "travel_minutes",
        gettext_lazy("Between two houses, minutes"),
        gettext_lazy("Where one of the two has no position."),
    )
    recheck_hours = _figure(
        "recheck_hours",
        gettext_lazy("Look again at a wet coat after, hours"),
        gettext_lazy("Nothing goes over it before, unless the crew says when."),
    )
    board_width_m = _figure(
        "board_width_m", gettext_lazy("Board width, m"), BOARDS, kind=FigureField
    )
    board_length_m = _figure(
        "board_length_m", gettext_lazy("Board length, m"), BOARDS, kind=FigureField
    )
    gap_share = _figure(
        "gap_share",
        gettext_lazy("Flat joints with gaps to fill first"),
        gettext_lazy("A share: 0 for none, 1 for all."),
        FigureField,
    )
    tape_m_per_m2 = _figure(
        "tape_m_per_m2",
        gettext_lazy("Tape, m on a m² of board"),
        gettext_lazy("The average that rough takeoffs use."),
        FigureField,
    )

    def __init__(self, company: Company, data: Any = None, **more: Any) -> None:
        super().__init__(data, **more)
        off = off_fields(company)
        self.levels = tuple(off)
        for code, ticks in off.items():
            self.fields[field_name_of(code)] = ticks
            self.initial[field_name_of(code)] = company.stages_off_by_level.get(code, [])
        zone = self.fields["zone"]
        assert isinstance(zone, forms.ChoiceField)
        zone.choices = [(name, name) for name in sorted(available_timezones())]
        stages = self.fields["stages"]
        assert isinstance(stages, forms.MultipleChoiceField)
        stages.choices = [(stage.value, stage_name(stage)) for stage in Stage]

    def clean(self) -> dict[str, Any]:
        self.cleaned_data["stages_off_by_level"] = off_by_level(self, self.levels)
        return self.cleaned_data

    def clean_country(self) -> str:
        return str(self.cleaned_data["country"]).upper()

    def clean_stages(self) -> list[str]:
        """Return them in the order of the work, however a browser sends them."""
        return [stage.value for stage in Stage if stage in self.cleaned_data["stages"]]


@dataclass(frozen=True)
class Section:
    """Settings that stand together on the page."""

    title: Promise
    fields: list[forms.BoundField]
    folds: list[LevelOff] = field(default_factory=list)


SECTIONS = (
    (gettext_lazy("The company"), ("name", "country", "currency", "zone")),
    (gettext_lazy("Work"), ("stages", "family", "drying_rule", "planned_air", "recheck_hours")),
    (gettext_lazy("Plans"), ("freeze_days", "extra_hour_price", "another_crew_visits")),
    (
        gettext_lazy("Visits"),
        ("setup_minutes", "washup_minutes", "worthwhile_minutes", "travel_minutes"),
    ),
    (gettext_lazy("Takeoff"), ("board_width_m", "board_length_m", "gap_share", "tape_m_per_m2")),
)


class SettingsGroup(CompanyGroup):
    """The one form of a company's settings."""

    logs = (Change.What.SETTINGS, Change.What.HOLIDAY)

    def sections(self) -> list[Section]:
        form = self.forms[0]
        assert isinstance(form, SettingsForm)
        found = [Section(title, [form[name] for name in names]) for title, names in SECTIONS]
        levels = Section(gettext_lazy("Work left off at a level"), [], folds(form, form.levels))
        return [*found[:2], levels, *found[2:]]

    def build(self) -> list[forms.Form]:
        self.company = Company.objects.get(pk=self.company.pk)
        initial = {name: getattr(self.company, name) for name in ("version", *SETTINGS)}
        return [SettingsForm(self.company, self.sent(""), initial=initial)]

    def check(self) -> Iterable[Fault]:
        return setting_faults(self.forms[0].cleaned_data, self.company)

    def save(self, by: User, now: datetime) -> None:  # noqa: ARG002
        values = dict(self.forms[0].cleaned_data)
        year = now.astimezone(ZoneInfo(self.company.zone)).year
        edit_settings(
            company=self.company,
            version=values.pop("version"),
            values=values,
            years=(year, year + 1),
        )

    def in_words(self, row: Row) -> str:
        """Name what differs from what was typed."""
        form = self.forms[0]
        other = [
            f"{_label(form, name)}: {_shown(name, getattr(row, name))}"
            for name in SETTINGS
            if form.cleaned_data.get(name) != getattr(row, name)
        ]
        return "; ".join(other) or _("as you typed it")


def _label(form: forms.Form, name: str) -> str:
    return str(form.fields[name].label if name in form.fields else _("Left off"))


def _shown(name: str, value: Any) -> str:
    """Return a setting as the form shows it."""
    if name == "stages":
        return listed([stage_name(stage) for stage in value])
    if name == "stages_off_by_level":
        return off_said(value) or _("nothing")
    words = {"planned_air": AIR, "drying_rule": DRYING}.get(name, {})
    return str(words.get(value, value)) or _("nothing")
