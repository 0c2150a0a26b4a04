"""Currencies by their ISO 4217 codes, as published by its maintenance agency."""

from collections.abc import Mapping

from django.core.exceptions import ValidationError
from iso4217 import Currency

MINOR_DIGITS: Mapping[str, int] = {
    currency.code: currency.exponent for currency in Currency if currency.exponent is not None
}
"""By code how many digits the minor unit has: 2 for cents, 0 where there is none. Gold, units of
account and test codes have no exponent, and nobody is paid in them."""


def validate_currency(value: str) -> None:
    """Refuse a code that no money has."""
    if value not in MINOR_DIGITS:
        raise ValidationError(f"{value!r} is not an ISO 4217 code such as EUR")
