"""Hours that were planned in a house beside those that its crews reported, by stage."""

from collections import Counter
from dataclasses import dataclass
from datetime import UTC, datetime

from finishing.models import House
from scheduling.services.reported_visits import ReportedVisit, reported_visits

LONG_AGO = datetime(2000, 1, 1, tzinfo=UTC)


@dataclass(frozen=True)
class StageHours:
    """A stage in the visits of a house that are over. planned, actual: person-minutes of the
    visits of which start and end were reported; unreported: planned ones of the others."""

    stage: str
    planned: int
    actual: int
    unreported: int


def stage_hours(house: House, now: datetime) -> list[StageHours]:
    """Return planned and actual hours by stage, in the order in which they were first worked on.

    What a visit took, less the extra work noted in it, is shared out to the tasks that were done
    in it as they were planned: crews say when they came and went, not how long each task took.
    """
    planned: Counter[str] = Counter()
    actual: Counter[str] = Counter()
    unreported: Counter[str] = Counter()
    for visit in reported_visits(house.company, LONG_AGO, now, house=house):
        took = _person_minutes(visit)
        minutes = Counter[str]()
        for task in visit.visit.content["tasks"] if took is None else visit.done:
            minutes[task["stage"]] += task["person_minutes"]
        if took is None:
            unreported += minutes
            continue
        planned += minutes
        for stage, share in minutes.items():
            actual[stage] += round(took * share / max(1, minutes.total()))
    stages = dict.fromkeys([*planned, *unreported])
    return [StageHours(one, planned[one], actual[one], unreported[one]) for one in stages]


def _person_minutes(visit: ReportedVisit) -> int | None:
    """Return what a visit took; None where nobody said when it began and ended, or what was left
    of its work is not known."""
    if visit.started_at is None or not visit.done or visit.left:
        return None
    minutes = visit.minutes_from(visit.started_at)
    return None if minutes is None else max(0, minutes * visit.heads - visit.extra_minutes)
