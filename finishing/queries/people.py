"""Who may sign in for a company, who has been invited to, and what people did."""

from datetime import datetime

from django.db.models import QuerySet

from finishing.models import Company, Deed, Invitation, User


def people_of(company: Company) -> QuerySet[User]:
    """Return who may sign in, by e-mail address."""
    rows = User.objects.filter(company=company, is_active=True)
    return rows.select_related("company", "crew").order_by("email")


def open_invitations(company: Company, now: datetime) -> QuerySet[Invitation]:
    """Return the invitations that may still be used."""
    rows = Invitation.objects.filter(company=company, used_at=None, withdrawn_at=None)
    return rows.filter(expires_at__gt=now).select_related("crew")


def deeds_of(company: Company) -> QuerySet[Deed]:
    """Return what people did, the newest first."""
    return Deed.objects.filter(company=company)
