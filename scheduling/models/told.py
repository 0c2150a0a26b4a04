"""What calendars tell besides the visits of crews: who is at a visit, and handovers.

A row lives as long as its ``uid``, as a visit does: what changes raises ``sequence`` and
``modified_at``, what is called off has ``cancelled_at``.
"""

from datetime import datetime, timedelta
from uuid import uuid4

from django.db import models

from finishing.models.owned import Owned


class Told(Owned):
    """An entry of a calendar that is no crew's visit."""

    uid = models.UUIDField(unique=True, default=uuid4)
    sequence = models.PositiveIntegerField(default=0)
    created_at = models.DateTimeField()
    modified_at = models.DateTimeField()
    cancelled_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        abstract = True

    def touch(self, now: datetime) -> None:
        """Mark a change. Calendars ignore one whose stamp is not later than what they have."""
        self.sequence += 1
        self.version += 1
        self.modified_at = max(now, self.modified_at + timedelta(seconds=1))


class VisitPerson(Told):
    """Somebody who was to be at a visit when it was published last: of its crew on that day, or
    lent to it. visit_sequence: that of the visit as the person's calendar has it."""

    visit = models.ForeignKey("scheduling.Visit", on_delete=models.CASCADE, related_name="people")
    person = models.CharField(max_length=120)
    visit_sequence = models.PositiveIntegerField(default=0)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["visit", "person"], name="person_once_at_a_visit")
        ]
        indexes = [models.Index(fields=["company", "person"])]

    def __str__(self) -> str:
        return f"{self.person} {self.visit_id}"


class ToldHandover(Told):
    """A handover as builders have been told of it.

    areas: names of those with a date of their own, none for the rest of the house. content: the
    values of ``wording.handover_sentence``. holds_on: the day that holds in 8 of 10, where that is
    known, as of ``odds_revision``, the revision for which it was last worked out (0: for none).
    """

    house = models.ForeignKey("finishing.House", on_delete=models.CASCADE, related_name="+")
    areas = models.JSONField(default=list, blank=True)
    due_on = models.DateField()
    content = models.JSONField(default=dict)
    holds_on = models.DateField(null=True, blank=True)
    odds_revision = models.PositiveIntegerField(default=0)

    class Meta:
        ordering = ["due_on", "id"]

    def __str__(self) -> str:
        return f"{self.house_id} {self.due_on}"
