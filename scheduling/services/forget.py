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
    """Delete the demo company's plans and runs, those of scenarios and quotes among them,
    scenarios, publications, reports and pins; feed addresses stay."""
    if not company.is_demo:
        raise NotADemoError(company.name)
    for rows in (
        *(CompanyPlans.objects, Publication.objects, Visit.objects, Plan.with_scenarios),
        *(PlanRun.all_kinds, Scenario.objects, Report.objects, Pin.objects),
    ):
        rows.filter(company=company).delete()
