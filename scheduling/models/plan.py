"""Plans and their tasks. A stored plan never changes; a company points to two of them."""

from typing import Any

from django.db import models

from finishing.models.owned import Owned
from scheduling.models.scenario import OfNoScenario, refuse_scenarios


class Plan(Owned):
    """A verified plan. Scores are those of ``scheduling.solver.outcome.Score``, in minutes.

    A proposal has a ``base``, the published revision it was measured against, and a ``kind``; it
    changes nothing until the office accepts it. The plan of a ``scenario`` is held against what
    that has otherwise; ``objects`` leaves it out, and nothing that crews see may point to it.
    """

    class Kind(models.TextChoices):
        FEWEST_CHANGES = "fewest_changes"
        BETWEEN = "between"
        EARLIEST_HANDOVERS = "earliest_handovers"

    created_at = models.DateTimeField()
    run = models.ForeignKey(
        "scheduling.PlanRun", on_delete=models.PROTECT, null=True, blank=True, related_name="plans"
    )
    scenario = models.ForeignKey(
        "scheduling.Scenario", on_delete=models.CASCADE, null=True, blank=True, related_name="+"
    )
    lateness_minutes = models.BigIntegerField()
    visits = models.PositiveIntegerField()
    idle_minutes = models.PositiveIntegerField()
    status = models.CharField(max_length=10)
    air_assumed_from = models.JSONField(
        default=dict, blank=True, help_text="per house, the UTC hour from which the air is assumed"
    )
    cold_hours = models.JSONField(
        default=dict,
        blank=True,
        help_text="by house, runs of hours too cold for coats; see services/cold_hours.py",
    )
    holds = models.JSONField(
        default=list,
        blank=True,
        help_text="what could not be planned: code, values, tasks; never a sentence",
    )
    handovers = models.JSONField(
        default=list,
        blank=True,
        help_text="per promise: house, areas, day due, when it is met, minutes late",
    )
    dryers = models.JSONField(
        default=list, blank=True, help_text="where dryers stand, and what each saves"
    )
    base = models.ForeignKey(
        "scheduling.Publication",
        on_delete=models.SET_NULL,
        null=True,
        blank=True,
        related_name="proposals",
    )
    kind = models.CharField(max_length=20, choices=Kind.choices, blank=True)
    change = models.JSONField(
        default=dict,
        blank=True,
        help_text="how it differs from the base: figures, moved visits; see services/changes.py",
    )

    with_scenarios: "models.Manager[Plan]" = models.Manager()
    objects: "models.Manager[Plan]" = OfNoScenario()

    class Meta:
        default_manager_name = "objects"


class PlannedTask(Owned):
    """A task at its crew and time. ``key`` (room or job id and stage) outlives replans.

    details: codes and values for wording: see ``services/outputs.py``.
    """

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="tasks")
    key = models.CharField(max_length=80)
    crew = models.ForeignKey("finishing.Crew", on_delete=models.PROTECT, related_name="+")
    house = models.ForeignKey("finishing.House", on_delete=models.PROTECT, related_name="+")
    area = models.ForeignKey(
        "finishing.Area", on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    stage = models.CharField(max_length=20)
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    ready_at = models.DateTimeField(
        null=True, help_text="planned hour at which what it leaves is dry or set"
    )
    details = models.JSONField(default=dict, blank=True)

    class Meta:
        ordering = ["starts_at", "id"]
        constraints = [models.UniqueConstraint(fields=["plan", "key"], name="task_key_once")]
        indexes = [models.Index(fields=["plan", "starts_at"])]


class CompanyPlans(Owned):
    """Where a company stands: the plan it works on and the one its crews see."""

    working = models.ForeignKey(
        Plan, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    published = models.ForeignKey(
        Plan, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        constraints = [models.UniqueConstraint(fields=["company"], name="plans_of_company_once")]

    def save(self, *args: Any, **more: Any) -> None:
        """Store where the company stands; raise ValidationError for the plan of a scenario."""
        refuse_scenarios(self.working, self.published)
        super().save(*args, **more)
