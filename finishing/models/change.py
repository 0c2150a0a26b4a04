"""What people did to the rows of a house or of the company: who, when, from what to what."""

from django.db import models
from django.db.models import Q

from finishing.models.house import House
from finishing.models.owned import Owned


class Change(Owned):
    """One edit of a row of a house, or of what a company plans with besides its houses.

    Never changed itself; ``services/changes.py`` writes it. house: None where it is the company's.
    place: where in the house, by name, as it was then ("Ground floor, Hall"); "" is the house
    itself; of a company's rows what they are called. fields: by field what it was and what it
    became, each a plain value, null for none.
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
        SETTINGS = "settings"
        CREW = "crew"
        MEMBER = "member"
        CREW_HOURS = "crew_hours", "hours of a crew's week"
        DAY_OFF = "day_off", "day off"
        EXTRA_HOURS = "extra", "extra hours"
        LOAN = "loan"
        HOLIDAY = "holiday"
        COMPOUND = "compound"
        SYSTEM = "system", "jointing system"
        RATE = "rate", "labour rate"
        PLACING = "placing", "placing rate"
        SUPPLY = "supply"
        STOCK = "stock"
        PRICE = "price"
        PAY = "pay", "agreement on pay"
        BUILDER_LINE = "builder", "line for a builder"
        DRYER = "dryer"

    house = models.ForeignKey(
        House, on_delete=models.CASCADE, null=True, blank=True, related_name="changes"
    )
    at = models.DateTimeField()
    by = models.ForeignKey(
        "finishing.User", on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    program = models.CharField(
        max_length=120, blank=True, help_text="of the API, by its name as it was then"
    )
    kind = models.CharField(max_length=8, choices=Kind.choices)
    what = models.CharField(max_length=10, choices=What.choices)
    place = models.CharField(max_length=250, blank=True)
    fields = models.JSONField(default=dict, blank=True)

    class Meta:
        ordering = ["at", "id"]
        indexes = [
            models.Index(fields=["house", "at"]),
            models.Index(fields=["company", "at"]),
            models.Index(fields=["company", "at"], condition=Q(house=None), name="company_edits"),
        ]

    def __str__(self) -> str:
        return f"{self.house or self.place} {self.what} {self.kind}"
