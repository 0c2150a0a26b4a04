"""What needs a decision today: what rows say, and how the published plan fits what is known now."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from finishing.models import Company
from scheduling.models import FeedLink, PlanRun
from scheduling.queries.plans import latest_publication, working_plan
from scheduling.queries.reached import NewestReached, newest_reached
from scheduling.queries.runs import newest_run
from scheduling.services.empty_hours import EmptyHours, empty_hours
from scheduling.services.inputs import build_inputs
from scheduling.services.material_orders import LateVisit, late_visits
from scheduling.services.plan_inputs import PlanInputs
from scheduling.services.since_published import Difference, since
from scheduling.services.wet_visits import WetVisit, wet_visits_by
from scheduling.solver.problem import Placement

DAYS_AHEAD = 3
"""So many days, today's rest among them, are looked at for empty hours."""
FETCHED_WITHIN = timedelta(days=2)
"""Calendars look several times a day; one that has not for so long is followed by nobody."""

_NOT_ALONE = frozenset({"wet_visits", "unfit_visits", "said_done"})
"""Told visit by visit, or no reason to decide anything."""


@dataclass(frozen=True)
class Today:
    """What there is to decide by what rows say. failed: the newest run where that failed. unread:
    the feeds that nobody has fetched for long, where anything is published. reached: whom the
    newest publication has reached, None once every crew has it or where nothing is published."""

    failed: PlanRun | None
    unread: Sequence[FeedLink]
    reached: NewestReached | None


@dataclass(frozen=True)
class Fit:
    """How the plan fits what is known now. visits: those that come too early or into the wrong
    air. material: those that come before their material. changed: what else a plan would have to
    follow since crews were told. empty: hours in which crews have nothing to do."""

    visits: Sequence[WetVisit]
    material: Sequence[LateVisit]
    changed: Sequence[Difference]
    empty: Sequence[EmptyHours]


def decisions_today(*, company: Company, now: datetime) -> Today:
    """Return what needs a decision, in a few queries."""
    newest = newest_reached(company)
    return Today(failed=_failed(company), unread=_unread(newest, now), reached=_awaited(newest))


def fit_today(*, company: Company, now: datetime) -> Fit:
    """Return how the plan fits; all that planning reads is read for it, and the air worked out."""
    inputs = build_inputs(company=company, now=now)
    latest = latest_publication(company)
    visits = wet_visits_by(inputs, company=company, now=now)
    found = since(latest, inputs, visits, now=now) if latest else None
    return Fit(
        visits=visits,
        material=list(late_visits(company=company, now=now).values()),
        changed=[one for one in found.differences if one.code not in _NOT_ALONE] if found else [],
        empty=empty_hours(inputs, _planned(company, inputs), days=DAYS_AHEAD),
    )


def _planned(company: Company, inputs: PlanInputs) -> list[Placement]:
    """Return the work of the working plan that has not ended."""
    plan = working_plan(company)
    if plan is None:
        return []
    tick = inputs.timeline.tick_after
    rows = plan.tasks.filter(ends_at__gt=inputs.now).select_related("crew")
    return [
        Placement(row.key, str(row.crew.public_id), tick(row.starts_at), tick(row.ends_at))
        for row in rows
    ]


def _failed(company: Company) -> PlanRun | None:
    newest = newest_run(company)
    return newest if newest and newest.status == PlanRun.Status.FAILED else None


def _awaited(newest: NewestReached | None) -> NewestReached | None:
    return newest if newest and newest.missed else None


def _unread(newest: NewestReached | None, now: datetime) -> list[FeedLink]:
    if newest is None or now - newest.publication.published_at < FETCHED_WITHIN:
        return []
    links = (link for one in newest.crews for link in one.links)
    return [link for link in links if not link.fetched_at or _is_old(link.fetched_at, now)]


def _is_old(fetched_at: datetime, now: datetime) -> bool:
    return now - fetched_at > FETCHED_WITHIN
