"""The figures of planning as Prometheus reads them (its text format, "Metric and label naming")."""

from collections.abc import Iterator

from django.utils import timezone
from prometheus_client.core import (
    GaugeMetricFamily,
    Metric,
    SummaryMetricFamily,
)
from prometheus_client.registry import Collector

from scheduling.queries.measures import Measures, measures


class Planning(Collector):
    """Reads the database whenever it is asked: so the answer is the same whichever process gives
    it, and tells of workers that serve no pages too."""

    def describe(self) -> list[Metric]:
        return []

    def collect(self) -> Iterator[Metric]:
        found = measures(timezone.now())
        yield from _of_runs(found)
        yield from _of_plans(found)
        yield from _of_the_rest(found)


def _of_runs(found: Measures) -> Iterator[Metric]:
    runs = GaugeMetricFamily("coatweave_runs", "Planning runs by status.", labels=["status"])
    for status, number in found.runs.items():
        runs.add_metric([status], number)
    yield runs
    yield SummaryMetricFamily(
        "coatweave_run_seconds",
        "How long runs took that are done.",
        count_value=found.planned,
        sum_value=found.planning_s,
    )
    yield _gauge(
        "queue_age_seconds", "Since the oldest waiting run was asked for.", found.queue_age_s
    )
    yield _gauge("run_age_seconds", "Since the oldest run going on began.", found.going_on_s)


def _of_plans(found: Measures) -> Iterator[Metric]:
    yield _gauge("working_plans", "Companies that work on a plan.", found.working_plans)
    yield _gauge("plan_lateness_minutes", "Weighted, of all working plans.", found.lateness_min)
    yield _gauge("plan_idle_minutes", "Within days, of all working plans.", found.idle_min)
    yield _gauge("plan_visits", "Of all working plans.", found.visits)


def _of_the_rest(found: Measures) -> Iterator[Metric]:
    air = GaugeMetricFamily(
        "coatweave_air_age_seconds", "Of the source silent for longest.", labels=["kind"]
    )
    for kind, age in found.air_age_s.items():
        air.add_metric([kind], age)
    yield air
    yield _gauge("air_failing", "Sources whose last fetch failed.", found.air_failing)
    yield _gauge("feeds", "Calendars that have an address.", found.feeds)
    yield _gauge("feeds_followed", "Of those, fetched within two days.", found.feeds_followed)
    yield _gauge("outgoing_age_seconds", "Since the oldest unsent was due.", found.outgoing_age_s)


def _gauge(name: str, text: str, value: float) -> Metric:
    return GaugeMetricFamily(f"coatweave_{name}", text, value=value)
