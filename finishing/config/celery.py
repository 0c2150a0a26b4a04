"""The Celery application, for workers and their clock; only where the settings name a broker.

``celery --app finishing.config.celery worker --beat`` starts both in one process.
"""

import os
from collections.abc import Mapping
from typing import Any

from celery import Celery
from celery.schedules import crontab
from celery.signals import beat_init, worker_init
from django.conf import settings

from finishing.config.reachable import require_database

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "finishing.config.settings")


@worker_init.connect
@beat_init.connect
def _require_database(**_signal: Any) -> None:
    require_database()


def beat_schedule(*, forecasts: bool) -> Mapping[str, Mapping[str, Any]]:
    """Return what is done by the clock.

    forecasts: whether there is an address to fetch them from. They are asked for four times an
    hour, so that one is fetched soon after the last has come of age, and soon after a failure.
    """
    sweep = {"task": "scheduling.tasks.sweep_runs", "schedule": 60.0}
    refresh = {"task": "scheduling.tasks.refresh_all_air", "schedule": crontab(minute="*/15")}
    send = {"task": "scheduling.tasks.sweep_outgoing", "schedule": 60.0}
    always = {"sweep_runs": sweep, "sweep_outgoing": send}
    return always | ({"refresh_air": refresh} if forecasts else {})


app = Celery("coatweave")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.conf.beat_schedule = beat_schedule(forecasts=bool(settings.FORECAST_URL))
app.autodiscover_tasks(["scheduling"])
