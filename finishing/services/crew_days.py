"""Editing a crew's days off, its extra hours and the loans of its members, as stretches of days."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date
from itertools import combinations
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import QuerySet
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from finishing.models import Crew, DayOff, ExtraHours, Loan
from finishing.services.day_stretches import (
    DayRow,
    Stretch,
    StretchLine,
    edit_stretches,
    length_faults,
    stretches_of,
    taken_fault,
)
from finishing.services.errors import Fault, InputFaults

type Faults = Iterator[Fault]


def days_off_of(crew: Crew, *, but: DayOff | None = None) -> dict[UUID, Stretch[DayOff]]:
    """Return the days off of a crew and of its members as stretches, by key; but: one left out."""
    rows = DayOff.objects.filter(company=crew.company_id, crew=crew).select_related("member")
    return stretches_of(_without(rows, but), lambda row: (row.member_id, row.reason))


def loans_of(crew: Crew, *, but: Loan | None = None) -> dict[UUID, Stretch[Loan]]:
    """Return the days on which members of a crew work with another, by key; but: one left out."""
    rows = Loan.objects.filter(company=crew.company_id, member__crew=crew)
    named = _without(rows, but).select_related("member", "crew")
    return stretches_of(named, lambda row: (row.member_id, row.crew_id))


def extra_hours_of(crew: Crew, *, but: ExtraHours | None = None) -> dict[UUID, Stretch[ExtraHours]]:
    """Return a crew's extra hours as stretches of days with the same ones, by key; but: one left
    out."""
    rows = ExtraHours.objects.filter(company=crew.company_id, crew=crew)
    return stretches_of(_without(rows, but), lambda row: (row.start, row.end))


@transaction.atomic
def edit_days_off(*, crew: Crew, lines: Sequence[StretchLine]) -> None:
    """Bring days off in line; values of lines: ``member`` (None: the whole crew), ``reason``.

    Raises InputFaults (places: ``place-field``) and StaleRowsError, with all that is wrong.
    """
    stretches = days_off_of(crew)
    _raise(days_off_faults(crew, lines, stretches))
    named = [_with(line, crew=crew) for line in lines]
    edit_stretches(DayOff, crew.company, named, stretches)


@transaction.atomic
def edit_loans(*, crew: Crew, lines: Sequence[StretchLine]) -> None:
    """Bring loans of a crew's members in line; values of lines: ``member``, ``crew`` (the one
    that is helped). Raises as :func:`edit_days_off` does."""
    stretches = loans_of(crew)
    _raise(loan_faults(lines, stretches))
    edit_stretches(Loan, crew.company, lines, stretches)


@transaction.atomic
def edit_extra_hours(*, crew: Crew, lines: Sequence[StretchLine]) -> None:
    """Bring extra hours in line; values of lines: ``start``, ``end`` on the crew's clock. Raises
    as :func:`edit_days_off` does."""
    stretches = extra_hours_of(crew)
    _raise(extra_hours_faults(lines, stretches))
    named = [_with(line, crew=crew) for line in lines]
    edit_stretches(ExtraHours, crew.company, named, stretches)


def days_off_faults(
    crew: Crew, lines: Sequence[StretchLine], stretches: Mapping[UUID, Stretch[DayOff]]
) -> Faults:
    """Yield what is wrong with days off; stretches: those that are stored."""
    yield from length_faults(lines)
    others = _others(lines, stretches, ("member", "reason"))
    for line, on in _met(others, lines, lambda a, b: a["member"] == b["member"]):
        yield taken_fault(line, on, str(line.values["member"] or crew))


def loan_faults(lines: Sequence[StretchLine], stretches: Mapping[UUID, Stretch[Loan]]) -> Faults:
    """Yield what is wrong with loans; stretches: those that are stored."""
    yield from length_faults(lines)
    for line in lines:
        member = line.values["member"]
        first, last = member.from_day or line.first_day, member.to_day or line.last_day
        if not line.remove and (line.first_day < first or line.last_day > last):
            said = _("%(who)s is in the crew from %(first)s to %(last)s: lend within these days.")
            days = {"first": _day(first), "last": _day(last)}
            yield Fault(f"{line.place}-first_day", said % {"who": member, **days})
    others = _others(lines, stretches, ("member", "crew"))
    for line, on in _met(others, lines, lambda a, b: a["member"] == b["member"]):
        yield taken_fault(line, on, str(line.values["member"]))


def extra_hours_faults(
    lines: Sequence[StretchLine], stretches: Mapping[UUID, Stretch[ExtraHours]]
) -> Faults:
    """Yield what is wrong with extra hours; stretches: those that are stored."""
    yield from length_faults(lines)
    for line in lines:
        if not line.remove and line.values["end"] <= line.values["start"]:
            yield Fault(f"{line.place}-end", _("The hours end before they begin: swap them."))
    others = _others(lines, stretches, ("start", "end"))
    for line, on in _met(others, lines, _same_hours):
        yield taken_fault(line, on, _("This time of day"))


def _without[R: DayRow](rows: QuerySet[R], but: R | None) -> QuerySet[R]:
    return rows if but is None else rows.exclude(pk=but.pk)


def _same_hours(one: Mapping[str, Any], other: Mapping[str, Any]) -> bool:
    return bool(one["start"] < other["end"] and other["start"] < one["end"])


def _others(
    lines: Sequence[StretchLine], stretches: Mapping[UUID, Stretch[Any]], names: Sequence[str]
) -> list[StretchLine]:
    """Return the stretches that no line names, as lines."""
    named = {line.key for line in lines}
    return [
        StretchLine(
            place="",
            first_day=stretch.first_day,
            last_day=stretch.last_day,
            values={name: getattr(stretch.rows[0], name) for name in names},
        )
        for key, stretch in stretches.items()
        if key not in named
    ]


def _met(
    others: Sequence[StretchLine],
    lines: Sequence[StretchLine],
    is_same: Callable[[Mapping[str, Any], Mapping[str, Any]], bool],
) -> Iterator[tuple[StretchLine, date]]:
    """Yield each line that has a day in common with one before it, or stored, of the same kind."""
    kept = [line for line in (*others, *lines) if not line.remove]
    for one, line in combinations(kept, 2):
        on = one.meets(line)
        if line.place and on and is_same(one.values, line.values):
            yield line, on


def _with(line: StretchLine, **values: Any) -> StretchLine:
    return replace(line, values={**line.values, **values})


def _raise(faults: Faults) -> None:
    if found := [*faults]:
        raise InputFaults(found)


def _day(day: date) -> str:
    return date_format(day, "D j M Y")
