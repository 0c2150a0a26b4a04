"""A crew's weekly hours, as the office edits them: a line for each day."""

import re
from collections.abc import Iterable
from datetime import datetime
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.dates import WEEKDAYS as NAMES
from django.utils.translation import gettext as _

from api.web.crew_group import CrewGroup
from api.web.form_group import VersionedForm
from finishing.models import CrewHours, User
from finishing.models.owned import Row
from finishing.rules.hours import WEEKDAYS, HoursError, WeeklyWindow, parse_hours
from finishing.services.crew_week import DayHours, edit_week
from finishing.services.errors import Fault
from finishing.services.rows import version_of
from scheduling.crew_wording import clock_spans

_WRITTEN = re.compile(r"[\d:,\s-]*")
"""All that times are written with: no day, which the field is of."""


class HoursField(forms.CharField):
    """The windows of a day; blank for none."""

    def __init__(self, weekday: int) -> None:
        self.weekday = weekday
        super().__init__(label=str(NAMES[weekday]), max_length=200, required=False)

    def clean(self, value: str) -> tuple[WeeklyWindow, ...]:
        text = super().clean(value)
        if not _WRITTEN.fullmatch(text):
            raise ValidationError(_("Write the times like 07:00-12:00 12:30-15:30."))
        try:
            return parse_hours(f"{WEEKDAYS[self.weekday]} {text}") if text else ()
        except HoursError as error:
            raise ValidationError(error.faults) from None


class DayHoursForm(VersionedForm):
    """One weekday; its prefix is the day's short English name."""

    def __init__(self, weekday: int, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        self.weekday = weekday
        self.fields["hours"] = HoursField(weekday)

    def day(self) -> DayHours:
        typed = self.cleaned_data
        return DayHours(self.weekday, typed["hours"], typed["version"])


class ShownDay:
    """The hours of a weekday that are stored, as one thing with a version."""

    def __init__(self, rows: list[CrewHours]) -> None:
        self.version = version_of(rows)
        self.text = clock_spans((row.start, row.end) for row in rows)


class WeekGroup(CrewGroup):
    """The seven days."""

    def build(self) -> list[forms.Form]:
        rows = list(CrewHours.objects.filter(crew=self.crew))
        self.days = [
            ShownDay([row for row in rows if row.weekday == weekday]) for weekday in range(7)
        ]
        return [self._form(weekday, shown) for weekday, shown in enumerate(self.days)]

    def check(self) -> Iterable[Fault]:
        return ()

    def save(self, by: User, now: datetime) -> None:  # noqa: ARG002
        edit_week(
            crew=self.crew,
            days=[
                form.day()
                for form in self.forms
                if isinstance(form, DayHoursForm) and form.is_bound
            ],
        )

    def in_words(self, row: Row) -> str:
        assert isinstance(row, CrewHours)
        shown = ShownDay(list(CrewHours.objects.filter(crew=self.crew, weekday=row.weekday)))
        return f"{NAMES[row.weekday]}: {shown.text or _('no hours')}"

    def _form(self, weekday: int, shown: ShownDay) -> DayHoursForm:
        prefix = WEEKDAYS[weekday]
        initial = {"version": shown.version, "hours": shown.text}
        return DayHoursForm(weekday, self.sent(prefix), prefix=prefix, initial=initial)
