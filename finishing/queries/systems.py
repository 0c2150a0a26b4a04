"""Jointing systems with their compounds."""

from finishing.models import Company, JointingSystem


def default_system(company: Company) -> JointingSystem | None:
    """Return the system of houses and areas that name none, with its compounds."""
    return (
        JointingSystem.objects.filter(company=company, is_default=True)
        .prefetch_related("stage_rows__compound")
        .first()
    )
