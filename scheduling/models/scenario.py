"""Scenarios: what would be planned if something were otherwise. Nobody is ever told of them."""

from typing import TYPE_CHECKING

from django.core.exceptions import ValidationError
from django.db import models

from finishing.models.owned import Owned

if TYPE_CHECKING:
    from scheduling.models.plan import Plan


class Scenario(Owned):
    """A question about the working plan: a name, and what would be otherwise.

    changes: see ``services/scenario_changes.py``; planned_changes: those that its plan is of, or
    was of when it became the working plan (``queries/scenarios.py: is_adopted``). base: the
    working plan when it was last planned, or made. odds: of the scenario's plan and of its
    base, in the same histories of the air; see ``services/scenario_odds.py``.
    """

    name = models.CharField(max_length=120)
    created_at = models.DateTimeField()
    base = models.ForeignKey(
        "scheduling.Plan", on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    changes = models.JSONField(default=list, blank=True, help_text="codes and values, in order")
    planned_changes = models.JSONField(default=list, blank=True)
    odds = models.JSONField(default=dict, blank=True)

    class Meta:
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(fields=["company", "name"], name="scenario_name_once")
        ]

    def __str__(self) -> str:
        return self.name


class OfNoScenario[M: models.Model](models.Manager[M]):
    """Rows that no scenario has. It is what ``objects`` is of plans, so that whoever looks for one
    to work on, to accept, to publish or to show never finds a scenario's."""

    def get_queryset(self) -> models.QuerySet[M]:
        return super().get_queryset().filter(scenario=None)


def refuse_scenarios(*plans: "Plan | None") -> None:
    """Raise ValidationError where one of some plans is a scenario's: crews are never told it."""
    if any(plan is not None and plan.scenario_id is not None for plan in plans):
        raise ValidationError("the plan of a scenario is not worked on and not published")
