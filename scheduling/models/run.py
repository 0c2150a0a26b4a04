"""Planning runs: the truth about what was asked and how far it is."""

from django.db import models

from finishing.models.owned import Owned

LARGE = ("problem", "progress")


def without_large(path: str) -> tuple[str, ...]:
    """Return what to defer where a run is read along with something else, by the path to it."""
    return tuple(f"{path}__{name}" for name in LARGE)


class RunManager(models.Manager["PlanRun"]):
    """Reads what is large, megabytes for forty houses, when somebody asks a run for it."""

    def get_queryset(self) -> models.QuerySet["PlanRun"]:
        return super().get_queryset().defer(*LARGE)


class RunsToWorkOn(RunManager):
    """Those of the plan to work on: whoever looks for a run to show, or for what it has made, never
    finds a scenario's or a quote's."""

    def get_queryset(self) -> models.QuerySet["PlanRun"]:
        return super().get_queryset().filter(scenario=None, quote=None)


class PlanRun(Owned):
    """One request to plan, with its problem as it was when the run began. ``objects`` leaves out
    those of scenarios and of quotes, which go on beside that of the plan to work on.

    quote: what it works out; no plan and no problem is kept of that, but what it comes to.
    """

    class Status(models.TextChoices):
        QUEUED = "queued"
        RUNNING = "running"
        DONE = "done"
        FAILED = "failed"

    class Priority(models.IntegerChoices):
        """The lowest goes first, as in Redis."""

        ASKED = 0, "somebody waits for it"
        TO_COMPARE = 3, "a scenario, beside the plan to work on"
        BY_THE_CLOCK = 6, "it is there in the morning"

    scenario = models.ForeignKey(
        "scheduling.Scenario", on_delete=models.CASCADE, null=True, blank=True, related_name="+"
    )
    quote = models.ForeignKey(
        "finishing.Quote", on_delete=models.CASCADE, null=True, blank=True, related_name="+"
    )
    priority = models.PositiveSmallIntegerField(choices=Priority.choices, default=Priority.ASKED)
    status = models.CharField(max_length=10, choices=Status.choices, default=Status.QUEUED)
    requested_at = models.DateTimeField()
    claimed_at = models.DateTimeField(null=True, blank=True)
    lease_until = models.DateTimeField(
        null=True, blank=True, help_text="whoever makes the plan renews it; see services/lease.py"
    )
    attempts = models.PositiveSmallIntegerField(
        default=0, help_text="how often somebody has begun it: again where the last one is gone"
    )
    finished_at = models.DateTimeField(null=True, blank=True)
    plan_from = models.DateTimeField(help_text="the moment planned from: nothing starts earlier")
    seconds = models.FloatField(default=10)
    work = models.PositiveIntegerField(null=True, blank=True)
    seed = models.PositiveIntegerField(default=1)
    problem = models.JSONField(default=dict, blank=True)
    problem_cut = models.BooleanField(
        default=False, help_text="what only a newer run is asked for is gone from its problem"
    )
    freed = models.JSONField(
        default=list,
        blank=True,
        help_text="visits inside the freeze, or pinned, that could not stay, and why",
    )
    unreported = models.PositiveIntegerField(
        default=0, help_text="tasks taken as done as planned, of which no crew has said so"
    )
    progress = models.JSONField(
        default=list, blank=True, help_text="better plans: seconds, score, bound, step"
    )
    steps = models.JSONField(
        default=list,
        blank=True,
        help_text="what it has gone through: code, at, seconds; see services/run_steps.py",
    )
    stop_requested = models.BooleanField(
        default=False, help_text="end now and keep the best plan so far"
    )
    overtaken_by = models.ForeignKey(
        "self",
        on_delete=models.SET_NULL,
        null=True,
        blank=True,
        related_name="+",
        help_text="the newer run of its company that stopped it",
    )
    air_rounds = models.PositiveSmallIntegerField(
        default=0, help_text="how often it was solved until plan and air agreed"
    )
    error = models.TextField(blank=True)

    all_kinds = RunManager()
    objects = RunsToWorkOn()

    class Meta:
        default_manager_name = "objects"
        indexes = [
            models.Index(fields=["status"]),
            models.Index(
                fields=["finished_at"], condition=models.Q(problem_cut=False), name="run_uncut"
            ),
        ]
