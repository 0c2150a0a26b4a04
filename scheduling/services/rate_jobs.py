"""Reported visits as jobs that a company's labour rates are held against."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from finishing.models import Company
from finishing.rules.labour import DEFAULT_RATES
from finishing.rules.reported_rates import Job
from finishing.rules.vocabulary import JointKind, Stage
from finishing.services.rates import RateKey, own_rates
from scheduling.services.reported_visits import ReportedVisit, TaskRow


@dataclass(frozen=True)
class RateJob:
    """A job, with the rates of its stages that its time was worked out with."""

    job: Job
    rates: frozenset[RateKey]


def present_rates(company: Company) -> dict[RateKey, float]:
    """Return the person-minutes per unit that the company plans with."""
    own = {key: row.minutes for key, row in own_rates(company).items()}
    return {(rate.stage, rate.kind): rate.minutes for rate in DEFAULT_RATES} | own


def rate_jobs(visits: Iterable[ReportedVisit], present: Mapping[RateKey, float]) -> list[RateJob]:
    """Return those visits as jobs of which all was reported: start, end, and all tasks done.

    Extra work that was noted is taken off. What makes work slower (ceilings, heights, stairwells)
    stays as it was published; where rates have changed since, only they are put anew.
    """
    return [job for one in visits if (job := _job(one, present))]


def _job(one: ReportedVisit, present: Mapping[RateKey, float]) -> RateJob | None:
    if one.silent or one.left or one.started_at is None or not one.heads:
        return None
    if any(task["job"] for task in one.done):
        return None  # odd jobs have no rate
    minutes = one.minutes_from(one.started_at)
    actual = (minutes or 0) * one.heads - one.extra_minutes
    expected: defaultdict[Stage, float] = defaultdict(float)
    rates: set[RateKey] = set()
    for task in one.done:
        expected[Stage(task["stage"])] += expected_minutes(task, present)
        rates |= {key for key, _, _ in _rated(task) if key[0] == task["stage"]}
    if actual <= 0 or not any(expected.values()):
        return None
    return RateJob(Job(str(one.visit.public_id), actual, expected), frozenset(rates))


def expected_minutes(task: TaskRow, present: Mapping[RateKey, float]) -> float:
    """Return the person-minutes of a published task by the present rates."""
    published = float(task["person_minutes"])
    rated = list(_rated(task))
    then = sum(quantity * minutes for _, quantity, minutes in rated)
    now = sum(quantity * present.get(key, minutes) for key, quantity, minutes in rated)
    return published * now / then if then > 0 else published


def _rated(task: TaskRow) -> Iterator[tuple[RateKey, float, float]]:
    """Yield the rates of a task, each with how much of its kind there is to do and the minutes it
    was published with; nothing of tasks published before these were kept."""
    for line in task["work"]:
        if not line.get("rated"):
            continue
        kind = JointKind.INTERNAL if line["kind"] == "cornice" else line["kind"]
        share = 0.5 if line.get("one_face") else 1.0
        yield (line["rate_of"], kind), line["quantity"] * share, line["rated"]
