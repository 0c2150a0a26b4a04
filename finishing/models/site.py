"""The house as it is: readiness, closures by others, coats already done, odd jobs."""

from django.db import models

from finishing.models.house import Area, House
from finishing.models.owned import Owned
from finishing.rules.vocabulary import Readiness, Skill, Stage


class ReadinessLine(Owned):
    """Something a house must offer, done or expected on a day and owed by someone."""

    house = models.ForeignKey(House, on_delete=models.CASCADE, related_name="readiness")
    item = models.CharField(max_length=15, choices=[(r, r.value) for r in Readiness])
    done = models.BooleanField(default=False)
    expected_on = models.DateField(null=True, blank=True)
    owed_by = models.CharField(max_length=120, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["house", "item"], name="readiness_item_once")
        ]


class Closure(Owned):
    """An area given to others from one day to another, both included."""

    area = models.ForeignKey(Area, on_delete=models.CASCADE, related_name="closures")
    first_day = models.DateField()
    last_day = models.DateField()
    reason = models.CharField(max_length=120, blank=True)


class CoatDone(Owned):
    """Where an area stood when it was entered: its last stage, with what, when it ended."""

    area = models.OneToOneField(Area, on_delete=models.CASCADE, related_name="coat_done")
    stage = models.CharField(max_length=20, choices=[(s, s.value) for s in Stage])
    compound = models.ForeignKey(
        "finishing.Compound", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    ended_at = models.DateTimeField()
    done_by = models.CharField(max_length=120, blank=True)


class OddJob(Owned):
    """A small task without joints: a patch of two hours, a good filler."""

    house = models.ForeignKey(House, on_delete=models.CASCADE, related_name="odd_jobs")
    name = models.CharField(max_length=120)
    person_minutes = models.PositiveIntegerField()
    skill = models.CharField(
        max_length=12, choices=[(s, s.value) for s in Skill], default=Skill.ODD_JOBS
    )
    done = models.BooleanField(default=False)
