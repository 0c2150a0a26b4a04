"""A crew's days off, its extra hours and the loans of its members, as the office edits them."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any
from uuid import UUID

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from api.web.clock_field import ClockField
from api.web.crew_group import StretchForm, StretchGroup
from api.web.row_field import RowField, offer
from finishing.models import Company, Crew, CrewMember, DayOff, ExtraHours, Loan, User
from finishing.models.owned import Row
from finishing.services.crew_days import (
    days_off_faults,
    days_off_of,
    edit_days_off,
    edit_extra_hours,
    edit_loans,
    extra_hours_faults,
    extra_hours_of,
    loan_faults,
    loans_of,
)
from finishing.services.day_stretches import Stretch
from finishing.services.errors import Fault
from scheduling.wording import day, listed

UNKNOWN = gettext_lazy("This one is not known any more: choose another.")


def _choice(label: Any) -> RowField[Any]:
    return RowField(label=label, required=False, error_messages={"invalid_choice": UNKNOWN})


class DayOffForm(StretchForm):
    """Days on which the crew, or one of it, does not work."""

    member = _choice(gettext_lazy("Who"))
    reason = forms.CharField(label=gettext_lazy("Why"), max_length=120, required=False)
    field_order = ("version", "member", "first_day", "last_day", "reason", "remove")

    def __init__(
        self, company: Company, members: Sequence[CrewMember], *args: Any, **more: Any
    ) -> None:
        super().__init__(*args, **more)
        offer(self, "member", company, members, blank=_("the whole crew"))

    def legend(self) -> str:
        return _("Away") if self.key else _("Add days off")

    def values(self) -> Mapping[str, Any]:
        typed = self.cleaned_data
        return {"member": typed["member"], "reason": typed["reason"]}


class DaysOffGroup(StretchGroup[DayOff]):
    """When the crew, or somebody of it, is away."""

    kind = "off"

    def stored(self) -> Mapping[UUID, Stretch[DayOff]]:
        self.members = list(self.crew.members.order_by("name", "pk"))
        return days_off_of(self.crew)

    def form(
        self, stretch: Stretch[DayOff] | None, prefix: str, initial: dict[str, Any]
    ) -> DayOffForm:
        row = stretch.rows[0] if stretch else None
        initial["member"] = str(row.member.public_id) if row and row.member else ""
        initial["reason"] = row.reason if row else ""
        return DayOffForm(
            self.crew.company,
            self.members,
            stretch.key if stretch else None,
            self.sent(prefix),
            prefix=prefix,
            initial=initial,
        )

    def check(self) -> Iterable[Fault]:
        return days_off_faults(self.crew, self.lines(), self.stretches)

    def save(self, by: User, now: datetime) -> None:  # noqa: ARG002
        edit_days_off(crew=self.crew, lines=self.lines())

    def in_words(self, row: Row) -> str:
        assert isinstance(row, DayOff)
        return _said(self.stretches, row, [str(row.member or self.crew), row.reason])


class LoanForm(StretchForm):
    """Days on which a member works with another crew."""

    member = _choice(gettext_lazy("Who"))
    crew = _choice(gettext_lazy("Works with"))
    field_order = ("version", "member", "crew", "first_day", "last_day", "remove")
    missing = {"member": gettext_lazy("Choose who."), "crew": gettext_lazy("Choose the crew.")}

    def __init__(
        self,
        company: Company,
        members: Sequence[CrewMember],
        crews: Sequence[Crew],
        *args: Any,
        **more: Any,
    ) -> None:
        super().__init__(*args, **more)
        offer(self, "member", company, members, blank="")
        offer(self, "crew", company, crews, blank="")

    def legend(self) -> str:
        return _("Lent") if self.key else _("Lend somebody")

    def values(self) -> Mapping[str, Any]:
        return {"member": self.cleaned_data["member"], "crew": self.cleaned_data["crew"]}


class LoansGroup(StretchGroup[Loan]):
    """Who of the crew works with another for some days."""

    kind = "lent"

    def stored(self) -> Mapping[UUID, Stretch[Loan]]:
        self.members = list(self.crew.members.order_by("name", "pk"))
        others = Crew.objects.filter(company=self.crew.company_id).exclude(pk=self.crew.pk)
        stretches, named = loans_of(self.crew), set[int]()
        for stretch in stretches.values():
            named.add(stretch.rows[0].crew_id)
        self.crews = [row for row in others if row.is_active or row.pk in named]
        return stretches

    def form(self, stretch: Stretch[Loan] | None, prefix: str, initial: dict[str, Any]) -> LoanForm:
        if stretch:
            row = stretch.rows[0]
            initial["member"] = str(row.member.public_id)
            initial["crew"] = str(row.crew.public_id)
        return LoanForm(
            self.crew.company,
            self.members,
            self.crews,
            stretch.key if stretch else None,
            self.sent(prefix),
            prefix=prefix,
            initial=initial,
        )

    def check(self) -> Iterable[Fault]:
        return loan_faults(self.lines(), self.stretches)

    def save(self, by: User, now: datetime) -> None:  # noqa: ARG002
        edit_loans(crew=self.crew, lines=self.lines())

    def in_words(self, row: Row) -> str:
        assert isinstance(row, Loan)
        said = _("%(member)s with %(crew)s") % {"member": row.member, "crew": row.crew}
        return _said(self.stretches, row, [said])


class ExtraHoursForm(StretchForm):
    """Hours besides those of the week."""

    start = ClockField(label=gettext_lazy("From"))
    end = ClockField(label=gettext_lazy("To"))
    field_order = ("version", "first_day", "last_day", "start", "end", "remove")
    missing = {
        "start": gettext_lazy("Say from when."),
        "end": gettext_lazy("Say until when."),
    }

    def legend(self) -> str:
        return _("Works more") if self.key else _("Add extra hours")

    def values(self) -> Mapping[str, Any]:
        return {"start": self.cleaned_data["start"], "end": self.cleaned_data["end"]}


class ExtraHoursGroup(StretchGroup[ExtraHours]):
    """When the crew works more than in its week."""

    kind = "extra"

    def stored(self) -> Mapping[UUID, Stretch[ExtraHours]]:
        return extra_hours_of(self.crew)

    def form(
        self, stretch: Stretch[ExtraHours] | None, prefix: str, initial: dict[str, Any]
    ) -> ExtraHoursForm:
        if stretch:
            initial |= {"start": stretch.rows[0].start, "end": stretch.rows[0].end}
        return ExtraHoursForm(
            stretch.key if stretch else None,
            self.sent(prefix),
            prefix=prefix,
            initial=initial,
        )

    def check(self) -> Iterable[Fault]:
        return extra_hours_faults(self.lines(), self.stretches)

    def save(self, by: User, now: datetime) -> None:  # noqa: ARG002
        edit_extra_hours(crew=self.crew, lines=self.lines())

    def in_words(self, row: Row) -> str:
        assert isinstance(row, ExtraHours)
        return _said(self.stretches, row, [f"{row.start:%H:%M}-{row.end:%H:%M}"])


def _said[R: (DayOff, Loan, ExtraHours)](
    stretches: Mapping[UUID, Stretch[R]], row: R, words: list[str]
) -> str:
    """Say how a stretch stands that begins with a row."""
    found = stretches.get(row.public_id)
    last = found.last_day if found else row.day
    days = _("%(first)s to %(last)s") % {"first": day(row.day), "last": day(last)}
    return f"{days}: {listed([word for word in words if word])}"
