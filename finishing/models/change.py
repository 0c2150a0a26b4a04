"""What people did to the rows of a house: who, when, from what to what."""

from django.db import models

from finishing.models.house import House
from finishing.models.owned import Owned


class Change(Owned):
    """One edit of a row of a house. Never changed itself; ``services/changes.py`` writes it.

    place: where in the house, by name, as it was then ("Ground floor, Hall"); "" is the house
    itself. fields: by field what it was and what it became, each a plain value, null for none.
    """

    class Kind(models.TextChoices):
        MADE = "made"
        CHANGED = "changed"
        REMOVED = "removed"

    class What(models.TextChoices):
        HOUSE = "house"
        AREA = "area"
        ROOM = "room"
        SURFACE = "surface"
        READINESS = "readiness"
        CLOSURE = "closure"
        COAT_DONE = "coat_done", "coat done last"
        ODD_JOB = "odd_job", "odd job"
        NOTE = "note"

    house = models.ForeignKey(House, on_delete=models.CASCADE, related_name="changes")
    at = models.DateTimeField()
    by = models.ForeignKey(
        "finishing.User", on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    kind = models.CharField(max_length=8, choices=Kind.choices)
    what = models.CharField(max_length=10, choices=What.choices)
    place = models.CharField(max_length=250, blank=True)
    fields = models.JSONField(default=dict, blank=True)

    class Meta:
        ordering = ["at", "id"]
        indexes = [models.Index(fields=["house", "at"])]

    def __str__(self) -> str:
        return f"{self.house} {self.what} {self.kind}"
