"""When areas are given to others, as the office edits it: a line each, and two to add."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any
from uuid import UUID

from django import forms
from django.db.models import prefetch_related_objects
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from api.web.day_field import DayField
from api.web.form_group import HouseGroup, VersionedForm
from api.web.row_field import RowField, offer
from finishing.models import Area, Closure, House, User
from finishing.models.owned import Row
from finishing.services.closures import ClosureLine, closure_faults, edit_closures
from finishing.services.errors import Fault
from scheduling.field_wording import FIELDS
from scheduling.wording import day, listed

NEW_LINES = ("new-1", "new-2")


class ClosureForm(VersionedForm):
    """One closure; public_id is None on a line that adds one."""

    area: RowField[Area] = RowField(
        label=FIELDS["area"],
        required=False,
        error_messages={"invalid_choice": gettext_lazy("This area is not known: choose another.")},
    )
    first_day = DayField(label=FIELDS["first_day"])
    last_day = DayField(label=FIELDS["last_day"])
    reason = forms.CharField(label=FIELDS["reason"], max_length=120, required=False)
    remove = forms.BooleanField(label=gettext_lazy("Remove"), required=False)

    def __init__(self, house: House, public_id: UUID | None, data: Any, **more: Any) -> None:
        super().__init__(data, **more)
        self.public_id = public_id
        offer(self, "area", house.company, house.areas.all(), blank="")
        if public_id is None:
            del self.fields["remove"]

    def legend(self) -> str:
        return _("Closed") if self.public_id else _("Add a closure")

    def clean(self) -> dict[str, Any]:
        """Ask for what is missing, but of a line that is blank or to be removed."""
        if self.is_wanted():
            for name, said in (
                ("area", _("Choose the area.")),
                ("first_day", _("Choose the first day.")),
                ("last_day", _("Choose the last day.")),
            ):
                if name in self.cleaned_data and not self.cleaned_data[name]:
                    self.add_error(name, said)
        return self.cleaned_data

    def is_wanted(self) -> bool:
        if self.cleaned_data.get("remove"):
            return False
        return self.public_id is not None or bool(self.changed_data)

    def line(self) -> ClosureLine:
        return ClosureLine(place=str(self.prefix), public_id=self.public_id, **self.cleaned_data)


class ClosuresGroup(HouseGroup):
    """All closures of a house that are not over, and those that are."""

    def build(self) -> list[forms.Form]:
        prefetch_related_objects([self.house], "areas")
        rows = Closure.objects.filter(area__house=self.house).select_related("area")
        by_day = rows.order_by("first_day", "area__position", "id")
        return [
            *(self._form(f"closure-{row.public_id}", row) for row in by_day),
            *(self._form(prefix, None) for prefix in NEW_LINES),
        ]

    def check(self) -> Iterable[Fault]:
        return closure_faults(self._lines())

    def save(self, by: User, now: datetime) -> None:
        edit_closures(house=self.house, lines=self._lines(), by=by, now=now)

    def in_words(self, row: Row) -> str:
        assert isinstance(row, Closure)
        days = {"first": day(row.first_day), "last": day(row.last_day)}
        said = _("closed %(first)s to %(last)s") % days
        return f"{row.area.name}: {listed([said, row.reason])}"

    def _form(self, prefix: str, row: Closure | None) -> ClosureForm:
        initial: dict[str, Any] = {"version": row.version if row else 0}
        if row:
            initial |= {name: getattr(row, name) for name in ("first_day", "last_day", "reason")}
            initial["area"] = str(row.area.public_id)
        public_id = row.public_id if row else None
        return ClosureForm(self.house, public_id, self.sent(prefix), prefix=prefix, initial=initial)

    def _lines(self) -> list[ClosureLine]:
        return [
            form.line()
            for form in self.forms
            if isinstance(form, ClosureForm) and form.is_bound and not form.errors
            if form.is_wanted() or form.cleaned_data.get("remove")
        ]
