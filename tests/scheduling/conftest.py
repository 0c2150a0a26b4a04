"""What tests of planning share."""

from collections.abc import Iterator

import pytest

from finishing.config.celery import app


@pytest.fixture
def celery_here() -> Iterator[None]:
    """Celery without a broker: a task is done where it is sent."""
    app.conf.task_always_eager = app.conf.task_eager_propagates = True
    yield
    app.conf.task_always_eager = app.conf.task_eager_propagates = False
