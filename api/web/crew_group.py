"""The sections of a crew's page, which are saved one at a time."""

from abc import abstractmethod
from collections.abc import Mapping
from contextlib import AbstractContextManager
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from api.web.day_field import DayField
from api.web.form_group import FormGroup, VersionedForm
from finishing.models import Crew, User
from finishing.services.company_log import OF_CREWS, logged
from finishing.services.day_stretches import DayRow, Stretch, StretchLine

NEW_LINES = ("new-1", "new-2")


class CrewGroup(FormGroup):
    """The forms of one section; today: on the crew's clock, what is over before is not shown."""

    def __init__(self, crew: Crew, today: date, data: QueryDict | None = None) -> None:
        self.crew = crew
        self.today = today
        super().__init__(data)

    def logged(self, by: User, now: datetime) -> AbstractContextManager[None]:
        return logged(self.crew.company, OF_CREWS, by=by, now=now)


class LineForm(VersionedForm):
    """A line of a section; key is None on one that adds something."""

    remove = forms.BooleanField(label=gettext_lazy("Remove"), required=False)

    def __init__(self, key: UUID | None, data: Any, **more: Any) -> None:
        super().__init__(data, **more)
        self.key = key
        if key is None:
            del self.fields["remove"]

    def is_removed(self) -> bool:
        return bool(self.cleaned_data.get("remove"))

    def is_wanted(self) -> bool:
        """Return whether the line is to be there: not removed, nor one to add left blank."""
        return not self.is_removed() and (self.key is not None or bool(self.changed_data))

    def ask_for(self, words: Mapping[str, str]) -> None:
        """Say what is missing, by field, but of a line that is not to be there."""
        if self.is_wanted():
            for name, said in words.items():
                if self.cleaned_data.get(name, said) in {None, ""}:
                    self.add_error(name, said)


class StretchForm(LineForm):
    """Days in a row; a subclass has the fields of what is said of them."""

    first_day = DayField(label=gettext_lazy("First day"))
    last_day = DayField(
        label=gettext_lazy("Last day"), help_text=gettext_lazy("Blank: that one day.")
    )
    missing: Mapping[str, Any] = {}

    def clean(self) -> dict[str, Any]:
        self.ask_for({**self.missing, "first_day": _("Choose the first day.")})
        if self.cleaned_data.get("last_day", True) is None:
            self.cleaned_data["last_day"] = self.cleaned_data.get("first_day")
        return self.cleaned_data

    @abstractmethod
    def values(self) -> Mapping[str, Any]:
        """Return what each day's row has."""

    def line(self) -> StretchLine:
        typed = self.cleaned_data
        return StretchLine(
            place=str(self.prefix),
            first_day=typed["first_day"],
            last_day=typed["last_day"],
            values=self.values(),
            key=self.key,
            version=typed["version"],
            remove=self.is_removed(),
        )


class StretchGroup[R: DayRow](CrewGroup):
    """A line for each stretch of days that is not over, and two to add."""

    kind: str
    """What the ids of its fields begin with, as several groups stand on one page."""
    stretches: Mapping[UUID, Stretch[R]]

    @abstractmethod
    def stored(self) -> Mapping[UUID, Stretch[R]]:
        """Return the stretches there are."""

    @abstractmethod
    def form(self, stretch: Stretch[R] | None, prefix: str, initial: dict[str, Any]) -> forms.Form:
        """Return the form of a line; initial: its version and days."""

    def build(self) -> list[forms.Form]:
        self.stretches = self.stored()
        shown = [one for one in self.stretches.values() if one.last_day >= self.today]
        return [
            *(self.form(one, f"{self.kind}-{one.key}", _days(one)) for one in shown),
            *(self.form(None, f"{self.kind}-{new}", {"version": 0}) for new in NEW_LINES),
        ]

    def lines(self) -> list[StretchLine]:
        """Return the lines that are in order and say something."""
        return [
            form.line()
            for form in self.forms
            if isinstance(form, StretchForm) and form.is_bound and not form.errors
            if form.is_wanted() or form.is_removed()
        ]


def _days(stretch: Stretch[Any]) -> dict[str, Any]:
    return {
        "version": stretch.version,
        "first_day": stretch.first_day,
        "last_day": stretch.last_day,
    }
