"""The readiness list as the office edits it: a line for each thing a house may be asked for."""

from collections.abc import Iterable, Iterator
from datetime import datetime

from django import forms
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from api.web.day_field import DayField
from api.web.form_group import HouseGroup, VersionedForm
from finishing.models import ReadinessLine, User
from finishing.models.owned import Row
from finishing.rules.vocabulary import Readiness
from finishing.services.errors import Fault
from finishing.services.readiness import ReadyLine, State, edit_readiness, ready_faults
from scheduling.field_wording import FIELDS
from scheduling.wording import day, listed, readiness_name

STATES = (
    (State.NOT_ASKED.value, gettext_lazy("not asked for")),
    (State.OPEN.value, gettext_lazy("open")),
    (State.DONE.value, gettext_lazy("done")),
)


class ReadyForm(VersionedForm):
    """One line; its prefix is the item."""

    state = forms.ChoiceField(label=FIELDS["state"], choices=STATES, required=False)
    expected_on = DayField(label=FIELDS["expected_on"])
    owed_by = forms.CharField(label=FIELDS["owed_by"], max_length=120, required=False)

    def legend(self) -> str:
        return capfirst(readiness_name(str(self.prefix)))

    def line(self) -> ReadyLine:
        cleaned = {**self.cleaned_data, "state": State(self.cleaned_data["state"])}
        return ReadyLine(Readiness(str(self.prefix)), **cleaned)


class ReadinessGroup(HouseGroup):
    """The whole list."""

    def build(self) -> list[forms.Form]:
        rows = {row.item: row for row in ReadinessLine.objects.filter(house=self.house)}
        return [self._form(item, rows.get(item)) for item in Readiness]

    def check(self) -> Iterable[Fault]:
        return [fault for line in [*self._lines()] for fault in ready_faults(line)]

    def save(self, by: User, now: datetime) -> None:
        edit_readiness(house=self.house, lines=[*self._lines()], by=by, now=now)

    def in_words(self, row: Row) -> str:
        assert isinstance(row, ReadinessLine)
        state = _("done") if row.done else _("open")
        expected = day(row.expected_on) if row.expected_on else ""
        said = listed([state, expected, row.owed_by])
        return f"{capfirst(readiness_name(row.item))}: {said}"

    def _form(self, item: Readiness, row: ReadinessLine | None) -> ReadyForm:
        initial = {"version": row.version if row else 0, "state": _state(row)}
        if row:
            initial |= {"expected_on": row.expected_on, "owed_by": row.owed_by}
        return ReadyForm(self.sent(item), prefix=item, initial=initial)

    def _lines(self) -> Iterator[ReadyLine]:
        for form in self.forms:
            if form.is_bound and not form.errors:
                assert isinstance(form, ReadyForm)
                yield form.line()


def _state(row: ReadinessLine | None) -> State:
    if row is None:
        return State.NOT_ASKED
    return State.DONE if row.done else State.OPEN
