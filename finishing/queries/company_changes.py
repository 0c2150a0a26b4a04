"""What was edited, as far as who asks may see it."""

from django.db.models import QuerySet

from finishing.models import Change, Company

OF_PRICES = frozenset({Change.What.PRICE})
"""Edits of what only owners and planners may see."""


def shown_changes(company: Company, *, with_prices: bool) -> QuerySet[Change]:
    """Return a company's edits; with_prices: for who may see what things cost."""
    rows = Change.objects.filter(company=company)
    return rows if with_prices else rows.exclude(what__in=OF_PRICES)
