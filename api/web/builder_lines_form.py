"""Extra work as a house's builder is told of it: a line for each, for each that a crew has noted
and nobody has settled, and two to add."""

from collections.abc import Iterable
from contextlib import AbstractContextManager
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from api.web.crew_group import NEW_LINES, LineForm
from api.web.day_field import DayField
from api.web.figure_field import FigureField
from api.web.form_group import HouseGroup
from api.web.money_field import MoneyField
from finishing.models import BuilderLine, Change, Company, User
from finishing.models.builder_line import MOST_MINUTES
from finishing.models.owned import Row
from finishing.services.builder_lines import (
    FIELDS,
    add_builder_line,
    builder_line_faults,
    change_builder_line,
    remove_builder_lines,
)
from finishing.services.company_log import logged
from finishing.services.errors import Fault
from scheduling.models import ExtraWork
from scheduling.money_wording import amount
from scheduling.queries.for_the_office import open_extra_work
from scheduling.services.for_the_office import bill_extra_work
from scheduling.wording import day, figure


class BuilderLineForm(LineForm):
    """One line. noted: what a crew noted, on a line that is made of that."""

    day = DayField(label=gettext_lazy("Day"))
    text = forms.CharField(label=gettext_lazy("What was done"), max_length=300, required=False)
    hours = FigureField(
        label=gettext_lazy("Person-hours"), min_value=0.02, max_value=MOST_MINUTES / 60
    )
    rate = MoneyField(label=gettext_lazy("A person-hour"))
    agreed_on = DayField(label=gettext_lazy("Agreed on"))
    agreed_with = forms.CharField(label=gettext_lazy("Agreed with"), max_length=120, required=False)
    field_order = (
        *("version", "day", "text", "hours", "rate"),
        *("agreed_on", "agreed_with", "remove"),
    )

    def __init__(
        self,
        company: Company,
        row: BuilderLine | None,
        noted: ExtraWork | None,
        data: Any,
        **more: Any,
    ):
        super().__init__(row.public_id if row else None, data, **more)
        self.company, self.row, self.noted = company, row, noted
        money = self.fields["rate"]
        assert isinstance(money, MoneyField)
        money.of(company)

    def legend(self) -> str:
        if self.row:
            return line_name(self.row, self.company)
        if self.noted:
            said = _("Noted by %(crew)s: %(what)s")
            return said % {"crew": self.noted.crew.name, "what": self.noted.what}
        return _("Add a line")

    def clean(self) -> dict[str, Any]:
        self.ask_for(
            {
                "day": _("Choose the day."),
                "text": _("Say what was done."),
                "hours": _("Say how many hours."),
                "rate": _("Say how much a person-hour is; 0 for none."),
            }
        )
        return self.cleaned_data

    def values(self) -> dict[str, Any]:
        typed = self.cleaned_data
        named = {name: typed[name] for name in FIELDS if name != "person_minutes"}
        return {**named, "person_minutes": round(typed["hours"] * 60)}


class BuilderLinesGroup(HouseGroup):
    """All lines of a house."""

    def logged(self, by: User, now: datetime) -> AbstractContextManager[None]:
        return logged(self.house.company, [Change.What.BUILDER_LINE], by=by, now=now)

    def build(self) -> list[forms.Form]:
        company = self.house.company
        self.rows = list(BuilderLine.objects.filter(company=company, house=self.house))
        noted = open_extra_work(company, self.house).filter(builder_line=None)
        self.noted = list(noted.select_related("house__company"))
        return [
            *(self._form(f"line-{row.public_id}", row) for row in self.rows),
            *(self._form(f"noted-{row.public_id}", None, row) for row in self.noted),
            *(self._form(prefix, None) for prefix in NEW_LINES),
        ]

    def check(self) -> Iterable[Fault]:
        for form in self._sent():
            if form.is_wanted():
                for fault in builder_line_faults(self.house, form.values()):
                    place = "hours" if fault.place == "person_minutes" else fault.place
                    yield Fault(form.add_prefix(place), fault.text)

    def save(self, by: User, now: datetime) -> None:
        sent = self._sent()
        gone = [(form.row, form.cleaned_data["version"]) for form in sent if form.is_removed()]
        remove_builder_lines([(row, version) for row, version in gone if row])
        for form in (form for form in sent if form.is_wanted()):
            if form.row:
                version = form.cleaned_data["version"]
                change_builder_line(row=form.row, version=version, values=form.values())
            elif form.noted:
                bill_extra_work(form.noted, form.values(), user=by, now=now)
            else:
                add_builder_line(house=self.house, values=form.values())

    def in_words(self, row: Row) -> str:
        assert isinstance(row, BuilderLine)
        return line_name(row, self.house.company)

    def _sent(self) -> list[BuilderLineForm]:
        return [
            form
            for form in self.forms
            if isinstance(form, BuilderLineForm) and form.is_bound and not form.errors
        ]

    def _form(
        self, prefix: str, row: BuilderLine | None, noted: ExtraWork | None = None
    ) -> BuilderLineForm:
        initial: dict[str, Any] = {"version": 0}
        if row:
            names = ("version", "day", "text", "rate", "agreed_on", "agreed_with")
            initial = {name: getattr(row, name) for name in names}
            initial["hours"] = _typed_hours(row.person_minutes)
        elif noted:
            on = noted.at.astimezone(ZoneInfo(noted.crew.zone)).date()
            hours = _typed_hours(noted.person_minutes)
            initial |= {"day": on, "text": noted.what, "hours": hours}
        data = self.sent(prefix)
        more = {"prefix": prefix, "initial": initial}
        return BuilderLineForm(self.house.company, row, noted, data, **more)


def _typed_hours(person_minutes: int) -> str:
    """Return hours as a field takes them back, to the minute."""
    return f"{round(person_minutes / 60, 4):.8g}"


def line_name(row: BuilderLine, company: Company) -> str:
    """Return a line in a line."""
    values = {
        "day": day(row.day),
        "text": row.text,
        "hours": figure(row.person_minutes / 60),
        "amount": amount(row.amount, company),
    }
    return _("%(day)s, %(text)s: %(hours)s h, %(amount)s") % values
