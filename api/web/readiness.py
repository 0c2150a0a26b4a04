"""The list of what a house must offer, to be ticked off."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import datetime

from django.utils.text import capfirst

from finishing.models import Company, House, ReadinessLine
from finishing.rules.vocabulary import Readiness
from scheduling.held_up_wording import holds_up_sentence
from scheduling.models import Plan, PlannedTask
from scheduling.queries.held_up import held_up_by, stages_left
from scheduling.queries.plans import working_plan
from scheduling.services.openings import NEEDS_A_LINE
from scheduling.wording import readiness_name


@dataclass(frozen=True)
class Needed:
    """A line of the list; holds_up: what waits for it, "" once it is done."""

    row: ReadinessLine
    name: str
    holds_up: str


@dataclass(frozen=True)
class ReadinessPart:
    """The list, what is open first. missing: what is not on it though work here cannot be planned
    without its day. refusal: why a tap changed nothing."""

    house: House
    lines: list[Needed]
    missing: list[str]
    refusal: str = ""


def readiness_part(
    company: Company,
    house: House,
    plan: Plan | None,
    tasks: Iterable[PlannedTask],
    *,
    now: datetime,
    refusal: str = "",
) -> ReadinessPart:
    """Return the list of a house; tasks: the plan's in it."""
    left = stages_left(company, house, plan, [task for task in tasks if task.ends_at > now])
    rows = sorted(
        house.readiness.all(), key=lambda row: (row.done, list(Readiness).index(_of(row)))
    )
    lines = [_needed(row, left) for row in rows]
    return ReadinessPart(house, lines, _missing({row.item for row in rows}, left), refusal)


def readiness_alone(
    company: Company, house: House, *, now: datetime, refusal: str = ""
) -> ReadinessPart:
    """Return the list for a page that has read nothing else of the plan, in three queries."""
    plan = working_plan(company)
    tasks = PlannedTask.objects.filter(company=company, plan=plan, house=house).defer("details")
    return readiness_part(company, house, plan, tasks, now=now, refusal=refusal)


def _missing(listed: Collection[str], left: list[str]) -> list[str]:
    return [
        f"{capfirst(readiness_name(item))}: {holds_up_sentence([stage], left, None)}"
        for stage, item in NEEDS_A_LINE.items()
        if stage in left and item not in listed
    ]


def _of(row: ReadinessLine) -> Readiness:
    return Readiness(row.item)


def _needed(row: ReadinessLine, left: list[str]) -> Needed:
    held = held_up_by(_of(row), left)
    said = "" if row.done else holds_up_sentence(held, left, row.expected_on)
    return Needed(row, readiness_name(row.item), said)
