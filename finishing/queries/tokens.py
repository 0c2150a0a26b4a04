"""Tokens of a company."""

from django.db.models import F, QuerySet

from finishing.models import ApiToken, Company


def tokens_of(company: Company) -> QuerySet[ApiToken]:
    """Return a company's tokens with their people, those still good first, the newest first."""
    rows = ApiToken.objects.filter(company=company).select_related(
        "company", "person", "made_by", "parent"
    )
    return rows.order_by(F("revoked_at").desc(nulls_first=True), "-made_at", "-pk")
