"""What a company's hours, ways and late days cost."""

from finishing.models import Company, Price
from finishing.rules.prices import DatedPrice, PriceKind, PriceList


def price_list(company: Company) -> PriceList:
    """Return all prices of a company in one query; crews and houses go by their public ids."""
    rows = Price.objects.filter(company=company).select_related("crew", "house")
    return PriceList(
        DatedPrice(PriceKind(row.kind), row.amount, row.since, _whose(row)) for row in rows
    )


def has_prices(company: Company) -> bool:
    """Return whether a company has said what anything of these costs."""
    return Price.objects.filter(company=company).exists()


def _whose(price: Price) -> str:
    owner = price.crew or price.house
    return str(owner.public_id) if owner else ""
