"""Work that the office has pinned to a crew and a time."""

from django.core.exceptions import ValidationError
from django.db import models

from finishing.models.owned import Owned


class Pin(Owned):
    """A task that is to be done by one crew from one moment on, until the pin is ended.

    key: as in ``PlannedTask``. It holds as long as it breaks no rule; a run that has to set it
    aside names it in ``PlanRun.freed``, and the next one tries it again.
    """

    key = models.CharField(max_length=80)
    crew = models.ForeignKey("finishing.Crew", on_delete=models.CASCADE, related_name="+")
    starts_at = models.DateTimeField()
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(
        "finishing.User", on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["starts_at", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["company", "key"],
                condition=models.Q(ended_at=None),
                name="pin_of_task_once",
            )
        ]

    def __str__(self) -> str:
        return f"{self.key} {self.crew} {self.starts_at:%Y-%m-%d %H:%M} UTC"

    def clean(self) -> None:
        """Refuse a crew of another company."""
        if self.crew.company_id != self.company_id:
            raise ValidationError({"crew": "is another company's"})
