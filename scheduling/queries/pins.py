"""What the office has pinned."""

from collections.abc import Iterable
from datetime import datetime
from uuid import UUID

from django.db.models import QuerySet

from finishing.models import Company
from scheduling.models import Pin


def pins_to_come(company: Company, moment: datetime) -> QuerySet[Pin]:
    """Return the pins of work that is to begin at a moment or later, in order of time."""
    pins = Pin.objects.filter(company=company, ended_at=None, starts_at__gte=moment)
    return pins.select_related("crew", "made_by")


def pin_of(company: Company, public_id: UUID) -> Pin:
    """Return a pin of the company; raise Pin.DoesNotExist for that of another."""
    return Pin.objects.get(company=company, public_id=public_id)


def pins_of_tasks(company: Company, keys: Iterable[str]) -> list[Pin]:
    """Return the pins, not ended, of tasks by their keys."""
    pins = Pin.objects.filter(company=company, ended_at=None, key__in=list(keys))
    return list(pins.select_related("crew", "made_by"))
