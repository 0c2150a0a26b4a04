"""Currencies as the program has them, against the list of ISO 4217's maintenance agency."""

from iso4217 import Currency

from finishing.models.currencies import MINOR_DIGITS


def test_currencies_are_those_of_the_agencys_list() -> None:
    """As the package iso4217 ships it. Where it has a newer one this names what has changed."""
    listed = {one.code: one.exponent for one in Currency if one.exponent is not None}
    assert dict(MINOR_DIGITS) == listed
