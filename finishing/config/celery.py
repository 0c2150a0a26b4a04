"""The Celery application, for workers and their clock; only where the settings name a broker.

``celery --app finishing.config.celery worker --beat`` starts both in one process.
"""

import os
from collections.abc import Mapping
from typing import Any

from celery import Celery
from celery.schedules import crontab
from celery.signals import beat_init, setup_logging, worker_init
from django.conf import settings
from kombu import Queue

from finishing.config.reachable import require_database

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "finishing.config.settings")


@setup_logging.connect
def _leave_logging_as_it_is(**_signal: Any) -> None:
    """Django has set it up, with secrets cut out; Celery asks only whether somebody has."""


@worker_init.connect
@beat_init.connect
def _require_database(**_signal: Any) -> None:
    require_database()


def beat_schedule(*, forecasts: bool, nights: bool = False) -> Mapping[str, Mapping[str, Any]]:
    """Return what is done by the clock.

    forecasts: whether there is an address to fetch them from. They are asked for four times an
    hour, so that one is fetched soon after the last has come of age, and soon after a failure.
    nights: whether proposals are made before the morning.
    """
    sweep = {"task": "scheduling.tasks.sweep_runs", "schedule": settings.RUN_LOOK_SECONDS}
    refresh = {"task": "scheduling.tasks.refresh_all_air", "schedule": crontab(minute="*/15")}
    send = {"task": "scheduling.tasks.sweep_outgoing", "schedule": 60.0}
    odds = {"task": "scheduling.tasks.sweep_odds", "schedule": crontab(minute="*/5")}
    cut = {"task": "scheduling.tasks.cut_old_problems", "schedule": crontab(minute="*/10")}
    always: dict[str, Mapping[str, Any]] = {
        "sweep_runs": sweep,
        "sweep_outgoing": send,
        "sweep_odds": odds,
        "cut_old_problems": cut,
    }
    if nights:
        always["plan_at_night"] = {
            "task": "scheduling.tasks.plan_at_night",
            "schedule": crontab(hour="1", minute="5"),
        }
    return always | ({"refresh_air": refresh} if forecasts else {})


ROUTES: Mapping[str, Mapping[str, str]] = {
    "scheduling.tasks.replan": {"queue": "planning"},
    "scheduling.tasks.refresh_air": {"queue": "air"},
    "scheduling.tasks.refresh_all_air": {"queue": "air"},
    "scheduling.tasks.find_answer": {"queue": "air"},
    "scheduling.tasks.tell_published": {"queue": "air"},
}
"""A plan takes a core for a while, and air waits for others: neither waits for the other, nor what
is sent or swept, in the queue of all else, for either."""

app = Celery("coatweave")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.conf.beat_schedule = beat_schedule(
    forecasts=bool(settings.FORECAST_URL), nights=settings.NIGHT_PLANS
)
app.conf.task_default_queue = "sending"
app.conf.task_queues = [Queue(name) for name in ("planning", "air", "sending")]  # all, unless told
app.conf.task_routes = ROUTES
app.conf.broker_transport_options = {
    "queue_order_strategy": "priority",
    "priority_steps": [0, 3, 6],  # those of PlanRun.Priority: who waits for a plan goes first
}
app.autodiscover_tasks(["scheduling"])
