"""What was edited, as far as who asks may see it."""

from typing import Any

from django.db.models import Q, QuerySet

from finishing.models import Change, Compound, Dryer, Supply

OF_PRICES = frozenset({Change.What.PRICE, Change.What.PAY, Change.What.BUILDER_LINE})
"""Edits of what only owners and planners may see."""
PRICES = frozenset({"pack_prices", "cost_per_day"})
"""Fields of others that only they may see."""
BESIDE_PRICES = sorted(
    {field.name for model in (Compound, Supply, Dryer) for field in model._meta.fields} - PRICES
)


def shown_changes(rows: QuerySet[Change], *, with_prices: bool) -> QuerySet[Change]:
    """Return edits; with_prices: for who may see what things cost."""
    if with_prices:
        return rows
    of_prices_alone = Q(fields__has_any_keys=[*PRICES]) & ~Q(fields__has_any_keys=BESIDE_PRICES)
    return rows.exclude(what__in=OF_PRICES).exclude(of_prices_alone)


def shown_fields(row: Change, *, with_prices: bool) -> dict[str, Any]:
    """Return what an edit changed, as far as who asks may see it."""
    return {name: pair for name, pair in row.fields.items() if with_prices or name not in PRICES}
