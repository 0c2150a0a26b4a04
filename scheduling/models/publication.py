"""Published revisions and the visits that crews see."""

from typing import Any

from django.db import models

from finishing.models.owned import Owned
from scheduling.models.scenario import refuse_scenarios


class Publication(Owned):
    """A frozen revision: which plan was published, when. Revisions count up from 1.

    takes_back: the revision before, whose visits this one puts back as they were; ``plan`` is
    then the plan from before that, None where crews had been told nothing.
    """

    revision = models.PositiveIntegerField()
    plan = models.ForeignKey(
        "scheduling.Plan", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    published_at = models.DateTimeField()
    takes_back = models.OneToOneField(
        "self", on_delete=models.SET_NULL, null=True, blank=True, related_name="taken_back_by"
    )

    class Meta:
        ordering = ["revision"]
        constraints = [
            models.UniqueConstraint(fields=["company", "revision"], name="revision_once")
        ]

    def save(self, *args: Any, **more: Any) -> None:
        """Store a revision; raise ValidationError for the plan of a scenario."""
        refuse_scenarios(self.plan)
        super().save(*args, **more)


class Visit(Owned):
    """A published visit: a crew at a house for one unbroken block of work.

    The row lives as long as its ``uid``: moves raise ``sequence``, a cancellation sets
    ``cancelled_at``. ``task_minutes``: task key -> minutes, for matching at the next publication.
    content: codes and values for wording, as frozen at publication.
    """

    crew = models.ForeignKey("finishing.Crew", on_delete=models.PROTECT, related_name="+")
    house = models.ForeignKey("finishing.House", on_delete=models.PROTECT, related_name="+")
    uid = models.UUIDField(unique=True)
    sequence = models.PositiveIntegerField(default=0)
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    task_minutes = models.JSONField(default=dict, blank=True)
    content = models.JSONField(default=dict, blank=True)
    created_at = models.DateTimeField()
    modified_at = models.DateTimeField()
    cancelled_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["starts_at", "id"]
        indexes = [
            models.Index(fields=["crew", "starts_at"]),
            models.Index(fields=["company", "starts_at"]),
            models.Index(fields=["company", "ends_at"]),
        ]
