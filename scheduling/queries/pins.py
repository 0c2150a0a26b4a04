"""What the office has pinned."""

from datetime import datetime

from django.db.models import QuerySet

from finishing.models import Company
from scheduling.models import Pin


def pins_to_come(company: Company, moment: datetime) -> QuerySet[Pin]:
    """Return the pins of work that is to begin at a moment or later, in order of time."""
    pins = Pin.objects.filter(company=company, ended_at=None, starts_at__gte=moment)
    return pins.select_related("crew")
