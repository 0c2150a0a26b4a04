"""A company's plans."""

from finishing.models import Company
from scheduling.models import CompanyPlans, Plan, Publication


def working_plan(company: Company) -> Plan | None:
    """Return the plan the office works on."""
    row = CompanyPlans.objects.filter(company=company).select_related("working").first()
    return row.working if row else None


def published_plan(company: Company) -> Plan | None:
    """Return the plan the crews see."""
    row = CompanyPlans.objects.filter(company=company).select_related("published").first()
    return row.published if row else None


def latest_publication(company: Company) -> Publication | None:
    """Return the newest revision."""
    return Publication.objects.filter(company=company).order_by("-revision").first()
