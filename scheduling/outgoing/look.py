"""Looking at visits in new air, when its row's turn comes."""

from datetime import datetime

from scheduling.models import Outgoing
from scheduling.services.looks import tell_of_wet_visits


def look(row: Outgoing, now: datetime) -> None:
    """Write what is to be told of the company's visits; those rows are sent after this one."""
    tell_of_wet_visits(company=row.company, now=now)
