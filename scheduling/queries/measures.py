"""How planning as a whole is doing, over all companies: figures for whoever runs the server."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Count, F, Max, Min, Sum

from finishing.models import AirSource
from scheduling.models import CompanyPlans, FeedLink, Outgoing, PlanRun


@dataclass(frozen=True)
class Measures:
    """Seconds are whole or not; an age is 0 where nothing waits, and left out of air_age_s where
    a kind of forecast or device has never sent anything.

    runs: how many, by status. planning_s, planned: of all runs that are done, how long they took
    together, and how many those are. lateness_min, idle_min, visits: of all working plans together.
    air_age_s: by kind of source, of the one that has been silent for longest.
    """

    runs: Mapping[str, int]
    planning_s: float
    planned: int
    queue_age_s: float
    going_on_s: float
    working_plans: int
    lateness_min: int
    idle_min: int
    visits: int
    air_age_s: Mapping[str, float]
    air_failing: int
    feeds: int
    feeds_followed: int
    outgoing_age_s: float


FOLLOWED = timedelta(days=2)
"""A feed that a program has fetched within so long is followed: they look once a day or more."""


def measures(now: datetime) -> Measures:
    """Return the figures as the database has them."""
    runs = PlanRun.all_kinds.order_by()
    done = runs.filter(status=PlanRun.Status.DONE, claimed_at__isnull=False).aggregate(
        spent=Sum(F("finished_at") - F("claimed_at")), n=Count("pk")
    )
    waiting = runs.filter(status=PlanRun.Status.QUEUED).aggregate(at=Min("requested_at"))
    going = runs.filter(status=PlanRun.Status.RUNNING).aggregate(at=Min("claimed_at"))
    plans = CompanyPlans.objects.aggregate(
        n=Count("working"),
        lateness=Sum("working__lateness_minutes", default=0),
        idle=Sum("working__idle_minutes", default=0),
        visits=Sum("working__visits", default=0),
    )
    unsent = Outgoing.objects.order_by().filter(state=Outgoing.State.WAITING)
    counted = runs.values("status").annotate(n=Count("pk")).values_list("status", "n")
    return Measures(
        runs=dict.fromkeys(PlanRun.Status.values, 0) | dict(counted),
        planning_s=done["spent"].total_seconds() if done["spent"] else 0.0,
        planned=done["n"],
        queue_age_s=_age_s(waiting["at"], now),
        going_on_s=_age_s(going["at"], now),
        working_plans=plans["n"],
        lateness_min=plans["lateness"],
        idle_min=plans["idle"],
        visits=plans["visits"],
        air_age_s=_air_ages(now),
        air_failing=AirSource.objects.exclude(failure="").count(),
        feeds=FeedLink.objects.filter(revoked_at=None).count(),
        feeds_followed=FeedLink.objects.filter(
            revoked_at=None, fetched_at__gt=now - FOLLOWED
        ).count(),
        outgoing_age_s=_age_s(unsent.aggregate(at=Min("due_at"))["at"], now),
    )


def _air_ages(now: datetime) -> dict[str, float]:
    """Return the age of the oldest forecast, and of the last day of other sources, by kind. What
    people read is as old as it is: nobody is to be woken for it."""
    kinds = AirSource.Kind
    fetched = AirSource.objects.filter(kind=kinds.FORECAST).aggregate(at=Min("fetched_at"))["at"]
    ages = {} if fetched is None else {str(kinds.FORECAST): _age_s(fetched, now)}
    others = AirSource.objects.filter(kind__in=(kinds.STATION, kinds.LOGGER))
    for kind, day in others.annotate(last=Max("days__day")).values_list("kind", "last"):
        if day is not None:
            age = max(0, (now.date() - day).days) * 86_400.0
            ages[kind] = max(age, ages.get(kind, 0.0))
    return ages


def _age_s(at: datetime | None, now: datetime) -> float:
    return max(0.0, (now - at).total_seconds()) if at else 0.0
