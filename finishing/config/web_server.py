"""How gunicorn serves the pages: ``gunicorn --config python:finishing.config.web_server
finishing.config.wsgi``. Any setting can be given on its command line instead.

Threads, since pages wait for the database. One process while no broker is set: its own thread makes
the plans.
"""

import gc
import os
from typing import Any

import django
from django.conf import settings
from django.urls import get_resolver
from prometheus_client.multiprocess import mark_process_dead

from finishing.config.reachable import require_database

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "finishing.config.settings")

bind = "127.0.0.1:8000"
worker_class = "gthread"
workers = 2 if settings.CELERY_BROKER_URL else 1
threads = 8
timeout = 60
max_requests = 20_000 if settings.CELERY_BROKER_URL else 0  # it would end a plan half-made
max_requests_jitter = 2_000
# Its heartbeat must not wait for a disk.
worker_tmp_dir = "/dev/shm"  # noqa: S108 # nosec B108
control_socket_disable = True


def child_exit(server: object, worker: Any) -> None:  # noqa: ARG001 - gunicorn's own signature
    """Count what a process that has ended had counted among the others' figures."""
    if "PROMETHEUS_MULTIPROC_DIR" in os.environ:
        mark_process_dead(worker.pid)  # type: ignore[no-untyped-call]


def on_starting(server: object) -> None:  # noqa: ARG001 - gunicorn's own signature
    """End with one line, once, where a worker would be started again and again."""
    django.setup()
    require_database()


def post_worker_init(worker: object) -> None:  # noqa: ARG001 - gunicorn's own signature
    """Load what pages are made with before the first is asked for, and set it aside: while it
    counts as objects that may be garbage, rings of those that are wait for a quarter as many."""
    _ = get_resolver().url_patterns
    gc.collect()
    gc.freeze()
