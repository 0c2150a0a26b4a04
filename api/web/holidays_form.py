"""The company's public holidays and days of its own, as the office edits them."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from api.web.crew_group import NEW_LINES, LineForm
from api.web.day_field import DayField
from api.web.form_group import CompanyGroup
from finishing.models import Change, ExtraHours, Holiday, User
from finishing.models.owned import Row
from finishing.services.errors import Fault
from finishing.services.holidays import HolidayLine, edit_holidays, holiday_faults
from scheduling.crew_wording import visit_on_holiday
from scheduling.queries.crew_visits import visits_to_come
from scheduling.wording import day


class HolidayForm(LineForm):
    """A day on which no crew works."""

    day = DayField(label=gettext_lazy("Day"))
    name = forms.CharField(label=gettext_lazy("Name"), max_length=120, required=False)
    field_order = ("version", "day", "name", "remove")

    def __init__(self, row: Holiday | None, data: Any, **more: Any) -> None:
        super().__init__(row.public_id if row else None, data, **more)
        self.row = row

    def legend(self) -> str:
        if self.row is None:
            return _("Add a day")
        return _("Own day") if self.row.is_own else _("Public holiday")

    def clean(self) -> dict[str, Any]:
        self.ask_for({"day": _("Choose a day."), "name": _("Say what day it is.")})
        return self.cleaned_data

    def line(self) -> HolidayLine:
        typed = self.cleaned_data
        return HolidayLine(
            place=str(self.prefix),
            day=typed["day"],
            name=typed["name"],
            public_id=self.key,
            version=typed["version"],
            remove=self.is_removed(),
        )


class HolidaysGroup(CompanyGroup):
    """The days that are not over, and two lines to add."""

    logs = (Change.What.HOLIDAY,)

    def build(self) -> list[forms.Form]:
        self.now = timezone.now()
        today = self.now.astimezone(ZoneInfo(self.company.zone)).date()
        self.year = today.year
        rows = Holiday.objects.filter(company=self.company, day__gte=today)
        self.rows = list(rows)
        return [
            *(self._form(f"day-{row.public_id}", row) for row in self.rows),
            *(self._form(prefix, None) for prefix in NEW_LINES),
        ]

    def years(self) -> tuple[int, int]:
        """Return the years whose public holidays can be fetched."""
        return self.year, self.year + 1

    def visits(self) -> list[str]:
        """Return in words the published visits on these days, but of crews with extra hours."""
        names = {row.day: row.name for row in self.rows}
        extra = ExtraHours.objects.filter(company=self.company, day__in=names)
        at_work = set(extra.values_list("crew", "day"))
        found = []
        for visit in visits_to_come(self.company, self.now):
            zone = ZoneInfo(visit.crew.zone)
            on = visit.starts_at.astimezone(zone).date()
            if on in names and (visit.crew_id, on) not in at_work:
                named = (visit.crew.name, visit.house.name, names[on])
                found.append(visit_on_holiday(*named, visit.starts_at, zone))
        return found

    def check(self) -> Iterable[Fault]:
        return holiday_faults(self._lines(), self.rows)

    def save(self, by: User, now: datetime) -> None:  # noqa: ARG002
        edit_holidays(company=self.company, lines=self._lines())

    def in_words(self, row: Row) -> str:
        assert isinstance(row, Holiday)
        return f"{day(row.day)}: {row.name}"

    def _form(self, prefix: str, row: Holiday | None) -> HolidayForm:
        initial: dict[str, Any] = {"version": 0}
        if row:
            initial = {name: getattr(row, name) for name in ("version", "day", "name")}
        return HolidayForm(row, self.sent(prefix), prefix=prefix, initial=initial)

    def _lines(self) -> list[HolidayLine]:
        return [
            form.line()
            for form in self.forms
            if isinstance(form, HolidayForm) and form.is_bound and not form.errors
            if form.is_wanted() or form.is_removed()
        ]
