"""What crews say about their work. A row is never changed, but for being set aside: a later one
says better."""

from typing import Any

from django.core.exceptions import ValidationError
from django.db import models

from finishing.models.owned import Owned


class Report(Owned):
    """One thing a crew says about one task; of a kind, the one said last counts.

    key: as in ``PlannedTask``, or for ``not_dry`` the stage of a room that was found wet.
    at: when it was so. minutes_left: of the crew's working time, for ``left`` and for what is not
    done of a task. again_at: when to look again, if the crew says so. about: the published task
    as it was when the report came (see ``Visit.content``), {} where it was in no visit; for
    ``not_dry`` the house, and when the visit had the coat ready, where it said so.
    """

    class Kind(models.TextChoices):
        STARTED = "started"
        LEFT = "left", "so many minutes left"
        DONE = "done"
        NOT_DONE = "not_done", "not done, and the crew has left"
        NOT_DRY = "not_dry", "a coat found not dry, or not set"

    crew = models.ForeignKey("finishing.Crew", on_delete=models.PROTECT, related_name="+")
    user = models.ForeignKey(
        "finishing.User", on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    kind = models.CharField(max_length=10, choices=Kind.choices)
    key = models.CharField(max_length=80)
    at = models.DateTimeField()
    said_at = models.DateTimeField()
    minutes_left = models.PositiveIntegerField(null=True, blank=True)
    again_at = models.DateTimeField(null=True, blank=True)
    about = models.JSONField(default=dict, blank=True)
    set_aside = models.BooleanField(
        default=False, help_text="does not count towards how slowly coats dry in its house"
    )

    class Meta:
        ordering = ["said_at", "id"]
        indexes = [
            models.Index(fields=["company", "key"]),
            models.Index(fields=["company", "said_at"]),
        ]

    def __str__(self) -> str:
        return f"{self.key} {self.kind}"

    def clean(self) -> None:
        """Refuse figures that do not belong to the kind, and a crew of another company."""
        faults: dict[str, Any] = {}
        if self.kind == self.Kind.LEFT and self.minutes_left is None:
            faults["minutes_left"] = "how many minutes are left?"
        if self.minutes_left is not None and self.kind not in (self.Kind.LEFT, self.Kind.NOT_DONE):
            faults["minutes_left"] = "belongs to work that is not done"
        if self.again_at and self.kind != self.Kind.NOT_DRY:
            faults["again_at"] = "belongs to a coat that is not dry"
        elif self.again_at and self.again_at <= self.at:
            faults["again_at"] = "must be after the coat was found not dry"
        if self.crew.company_id != self.company_id:
            faults["crew"] = "is another company's"
        if faults:
            raise ValidationError(faults)
