"""When a place that things are sent to counts as out of reach."""

from datetime import datetime

from scheduling.models import Outgoing
from scheduling.models.endpoint import Endpoint
from scheduling.outgoing.retries import MOST_ATTEMPTS
from scheduling.services.endpoints import switch_off


def judge_failure(endpoint: Endpoint, row: Outgoing, now: datetime) -> None:
    """Switch an endpoint off where a row was tried to the end, and nothing has reached it since
    that was written: one row that it will not take is not the end of it."""
    reached_since = endpoint.answered_at is not None and endpoint.answered_at > row.created_at
    if row.attempts >= MOST_ATTEMPTS and not reached_since:
        switch_off(endpoint=endpoint, why=Endpoint.Off.FAILING, now=now)
