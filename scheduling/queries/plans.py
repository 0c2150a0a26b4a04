"""A company's plans."""

from collections.abc import Iterable
from datetime import datetime
from uuid import UUID

from django.db.models import QuerySet

from finishing.models import Company
from scheduling.models import CompanyPlans, Plan, PlannedTask, PlanRun, Publication
from scheduling.models.run import without_large


def working_plan(company: Company) -> Plan | None:
    """Return the plan the office works on."""
    rows = CompanyPlans.objects.filter(company=company).select_related("working__run")
    row = rows.defer(*without_large("working__run")).first()
    plan = row.working if row else None
    if plan is not None:
        plan.company = company  # read already
    return plan


def published_plan(company: Company) -> Plan | None:
    """Return the plan the crews see."""
    rows = CompanyPlans.objects.filter(company=company).select_related("published__run")
    row = rows.defer(*without_large("published__run")).first()
    return row.published if row else None


def ends_to_come(company: Company, now: datetime) -> dict[str, datetime]:
    """Return by key when each task of the working plan that starts from now on ends."""
    plan = working_plan(company)
    rows = plan.tasks.filter(starts_at__gte=now) if plan else PlannedTask.objects.none()
    return dict(rows.values_list("key", "ends_at"))


def latest_publication(company: Company) -> Publication | None:
    """Return the newest revision."""
    return Publication.objects.filter(company=company).order_by("-revision").first()


def plan_of(company: Company, public_id: UUID) -> Plan:
    """Return a plan of the company; raise Plan.DoesNotExist for that of another."""
    plans = Plan.objects.select_related("run", "base", "company").defer(*without_large("run"))
    return plans.get(company=company, public_id=public_id)


def proposals_of(company: Company) -> list[Plan]:
    """Return the proposals of the company's latest run that came to something, the fewest
    changes first; empty where that run made a working plan."""
    run = _last_run_with_plans(company).first()
    return proposals_of_run(run) if run else []


def _last_run_with_plans(company: Company) -> QuerySet[PlanRun]:
    return PlanRun.objects.filter(company=company, plans__isnull=False).order_by("-pk")


def proposals_of_run(run: PlanRun) -> list[Plan]:
    """Return the proposals that a run made, the fewest changes first."""
    return [plan for plan in plans_of_run(run) if plan.kind]


def plans_of_run(run: PlanRun) -> list[Plan]:
    """Return what a run made: a plan to work on, or proposals, the fewest changes first."""
    plans = Plan.objects.filter(company=run.company_id, run=run).order_by("pk")
    return list(plans.select_related("run", "base", "company").defer(*without_large("run")))


def tasks_planned(plan: Plan, keys: Iterable[str]) -> list[PlannedTask]:
    """Return the tasks of these keys in a plan, with their houses."""
    rows = PlannedTask.objects.filter(company=plan.company_id, plan=plan, key__in=list(keys))
    return list(rows.select_related("house__company"))


class PlanStates:
    """Tells how a company's plans stand: ``published`` (crews see it), ``working`` (the plan to
    work on), ``open`` (a proposal that may be accepted), ``over``."""

    def __init__(self, company: Company) -> None:
        self._plans = CompanyPlans.objects.filter(company=company).first()
        self._newest = latest_publication(company)
        self._proposing = _last_run_with_plans(company).values_list("pk", flat=True).first()

    def of(self, plan: Plan) -> str:
        if self._plans and self._plans.published_id == plan.pk:
            return "published"
        if self._plans and self._plans.working_id == plan.pk:
            return "working"
        newest = bool(plan.kind) and plan.run_id == self._proposing
        stands = newest and self._newest and self._newest.pk == plan.base_id
        return "open" if stands else "over"
