"""Forms of a crew's page, each taken once however often it is sent."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction

from finishing.models import Crew
from scheduling.models import SentReport, Visit

Action = SentReport.Action


@dataclass(frozen=True)
class Sent:
    """A form: its id, whose it is, which visit it is about, when it was filled in and when it
    came."""

    sent_as: UUID
    crew: Crew
    visit: Visit
    at: datetime
    now: datetime


class OtherReportError(Exception):
    """A form that has come before now says something else; ``first`` is what it said then."""

    def __init__(self, first: SentReport) -> None:
        self.first = first
        super().__init__(str(first))


@transaction.atomic
def once(
    sent: Sent, action: Action, said: Mapping[str, Any], write: Callable[[], object]
) -> SentReport:
    """Call ``write`` the first time that a form comes, and return what was noted then.

    Nothing is noted where ``write`` raises, so that the form can be put right and sent again.
    Raise OtherReportError where the form has come saying something else.
    """
    # Of two that come at the same time, the database's constraint lets one in.
    row, is_new = SentReport.objects.get_or_create(
        company=sent.crew.company,
        sent_as=sent.sent_as,
        defaults={
            "crew": sent.crew,
            "visit": sent.visit,
            "action": action,
            "said": dict(said),
            "at": sent.at,
            "said_at": sent.now,
        },
    )
    if is_new:
        row.full_clean()
        write()
    elif (row.crew, row.visit, row.action, row.said) != (sent.crew, sent.visit, action, said):
        raise OtherReportError(row)
    return row
