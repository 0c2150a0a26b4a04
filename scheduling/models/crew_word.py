"""What crews say from their pages that is more than a report of work."""

from django.db import models

from finishing.models.owned import Owned
from finishing.rules.vocabulary import Readiness

MOST_PEOPLE = 50
"""So many at most are at a visit: more is a slip of the finger."""


class SentReport(Owned):
    """A form of a crew's page, known by the id that was made with it, so that none counts twice.

    said: what was filled in, to tell the same form sent again from one with other words.
    """

    class Action(models.TextChoices):
        STARTED = "started"
        FINISHED = "finished"
        NOT_DRY = "not_dry"
        CANNOT_WORK = "cannot_work"
        EXTRA_WORK = "extra_work"

    sent_as = models.UUIDField()
    crew = models.ForeignKey("finishing.Crew", on_delete=models.CASCADE, related_name="+")
    visit = models.ForeignKey("scheduling.Visit", on_delete=models.CASCADE, related_name="+")
    action = models.CharField(max_length=12, choices=Action.choices)
    said = models.JSONField(default=dict, blank=True)
    at = models.DateTimeField()
    said_at = models.DateTimeField()

    class Meta:
        ordering = ["at", "id"]
        constraints = [
            models.UniqueConstraint(fields=["company", "sent_as"], name="report_sent_once")
        ]

    def __str__(self) -> str:
        return f"{self.visit_id} {self.action}"


class ForTheOffice(Owned):
    """Something of a visit that somebody in the office has to settle; open until then."""

    crew = models.ForeignKey("finishing.Crew", on_delete=models.PROTECT, related_name="+")
    house = models.ForeignKey("finishing.House", on_delete=models.PROTECT, related_name="+")
    visit = models.ForeignKey(
        "scheduling.Visit", on_delete=models.SET_NULL, null=True, related_name="+"
    )
    at = models.DateTimeField()
    settled_at = models.DateTimeField(null=True, blank=True)
    settled_by = models.ForeignKey(
        "finishing.User", on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )

    class Meta:
        abstract = True
        ordering = ["at", "id"]


class Obstacle(ForTheOffice):
    """Why a crew could not work. item: the readiness line that is not so, where that is why.

    photo: the name of its file (see ``services/photos.py``), "" for none.
    """

    class Reason(models.TextChoices):
        NO_WAY_IN = "no_way_in"
        NOT_READY = "not_ready"
        DAMAGE = "damage", "damage by others"
        SHORT = "short", "short of material"

    reason = models.CharField(max_length=10, choices=Reason.choices)
    item = models.CharField(max_length=12, choices=[(r, r.value) for r in Readiness], blank=True)
    note = models.CharField(max_length=500, blank=True)
    photo = models.CharField(max_length=40, blank=True)

    def __str__(self) -> str:
        return f"{self.house} {self.reason}"


class ExtraWork(ForTheOffice):
    """Work that was in no plan. builder_line: what the office made of it, if anything."""

    what = models.CharField(max_length=300)
    person_minutes = models.PositiveIntegerField()
    builder_line = models.OneToOneField(
        "finishing.BuilderLine",
        on_delete=models.SET_NULL,
        null=True,
        blank=True,
        related_name="extra_work",
    )

    def __str__(self) -> str:
        return f"{self.house} {self.what}"
