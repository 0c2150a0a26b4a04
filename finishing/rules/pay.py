"""What a visit is paid: by the hour to each person, by the square metre and stage to the crew.

Amounts are whole minor units of the company's money. What each payee has of a visit is worked out
exactly and rounded once, half up; whatever is added up is added up from these.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

CREW = ""
"""The payee of what is paid by the square metre."""
MINUTES_AN_HOUR = 60


class Unpaid(StrEnum):
    """Why something of a visit is not paid."""

    NO_RATE = "no_rate"
    """There is no rate for a person's hours, or no rate held by then."""
    AREA_UNKNOWN = "area_unknown"
    """It is paid by the square metre, and nobody knows how many there were."""


@dataclass(frozen=True, slots=True)
class PaidTask:
    """Work reported done: its stage, the person-minutes it was published with, its square metres
    (None where they are not known; an odd job has no stage)."""

    stage: str
    person_minutes: int
    area_m2: float | None


@dataclass(frozen=True, slots=True)
class PaidVisit:
    """people: who was there. minutes: that each of them was. tasks: what was done; left_minutes:
    person-minutes published of work that was not finished, extra_minutes: that extra work took,
    both paid by the hour alone."""

    people: Sequence[str]
    minutes: int
    tasks: Sequence[PaidTask]
    left_minutes: int = 0
    extra_minutes: int = 0


@dataclass(frozen=True, slots=True)
class Terms:
    """What holds on the visit's day: minor units a person-hour, of the crew (None: nothing) and by
    person of those with an agreement of their own; minor units a square metre by stage."""

    hour: int | None
    by_person: Mapping[str, int]
    by_stage: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class PayLine:
    """What one payee has of a visit; quantity: hours of a person, square metres of the crew."""

    payee: str
    quantity: Fraction
    amount: int


@dataclass(frozen=True, slots=True)
class VisitPay:
    lines: tuple[PayLine, ...]
    unpaid: frozenset[Unpaid]

    @property
    def total(self) -> int:
        return sum(line.amount for line in self.lines)


def visit_pay(visit: PaidVisit, terms: Terms) -> VisitPay:
    """Return what each payee has of a visit.

    Who has an agreement of their own is paid all their time by it. The others' time is paid by the
    hour but for the share, by published time, that is paid to the crew by the square metre; of the
    time of extra work, all of it.
    """
    unpaid: set[Unpaid] = set()
    by_area = [task for task in visit.tasks if task.stage in terms.by_stage]
    lines = [line for line in [_by_area(by_area, terms, unpaid)] if line]
    share = _share_by_hour(visit, by_area)
    for person in visit.people:
        own = terms.by_person.get(person)
        rate, part = (terms.hour, share) if own is None else (own, Fraction(1))
        hours = Fraction(visit.minutes, MINUTES_AN_HOUR) * part
        if hours and rate is None:
            unpaid.add(Unpaid.NO_RATE)
        elif hours and rate is not None:
            lines.append(PayLine(person, hours, rounded(hours * rate)))
    return VisitPay(tuple(lines), frozenset(unpaid))


def rounded(exact: Fraction) -> int:
    """Return an amount of 0 or more rounded to whole minor units, half up."""
    return int(exact + Fraction(1, 2))


def amount_by_hour(person_minutes: int, rate: int) -> int:
    """Return what person-minutes come to at a rate in minor units a person-hour."""
    return rounded(Fraction(person_minutes * rate, MINUTES_AN_HOUR))


def _by_area(by_area: Sequence[PaidTask], terms: Terms, unpaid: set[Unpaid]) -> PayLine | None:
    if any(task.area_m2 is None for task in by_area):
        unpaid.add(Unpaid.AREA_UNKNOWN)
    known = [(task.stage, _exact(task.area_m2)) for task in by_area if task.area_m2 is not None]
    if not known:
        return None
    metres = sum((area for _, area in known), Fraction())
    pay = sum((area * terms.by_stage[stage] for stage, area in known), Fraction())
    return PayLine(CREW, metres, rounded(pay))


def _share_by_hour(visit: PaidVisit, by_area: Sequence[PaidTask]) -> Fraction:
    every = sum(task.person_minutes for task in visit.tasks) + visit.left_minutes
    share_by_area = Fraction(bool(by_area))
    if every:
        share_by_area = Fraction(sum(task.person_minutes for task in by_area), every)
    return 1 - share_by_area * (1 - _share_of_extra_work(visit))


def _share_of_extra_work(visit: PaidVisit) -> Fraction:
    there = visit.minutes * len(visit.people)
    return min(Fraction(1), Fraction(visit.extra_minutes, there)) if there else Fraction(0)


def _exact(figure: float) -> Fraction:
    """Return a figure as it is written, not as binary has it: 0.1 is a tenth."""
    return Fraction(Decimal(str(figure)))
