"""Starting the demo company's plans afresh."""

from django.db import transaction

from finishing.models import Company
from scheduling.models import (
    CompanyPlans,
    Pin,
    Plan,
    PlanRun,
    Publication,
    Report,
    Scenario,
    Visit,
)


class NotADemoError(Exception):
    """A real company's plans are never forgotten."""


@transaction.atomic
def forget_plans(*, company: Company) -> None:
    """Delete the demo company's plans, runs, scenarios, publications, reports and pins; feed
    addresses stay."""
    if not company.is_demo:
        raise NotADemoError(company.name)
    for model in (CompanyPlans, Publication, Visit, Scenario, Plan, PlanRun, Report, Pin):
        model.objects.filter(company=company).delete()
