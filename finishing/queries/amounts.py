"""Which rows hold money: amounts in minor units of their company's currency."""

from typing import Any

from django.db.models import QuerySet

from finishing.models import BuilderLine, Company, Compound, Dryer, PayTerm, Price, Supply


def has_amounts(company: Company) -> bool:
    """Return whether anything of a company has a price by now."""
    return any(rows.filter(company=company).exists() for rows in _rows_with_amounts())


def _rows_with_amounts() -> tuple[QuerySet[Any], ...]:
    return (
        Price.objects.filter(amount__gt=0),
        PayTerm.objects.all(),
        BuilderLine.objects.filter(rate__gt=0),
        Dryer.objects.filter(cost_per_day__gt=0),
        Compound.objects.exclude(pack_prices=[]),
        Supply.objects.exclude(pack_prices=[]),
    )
