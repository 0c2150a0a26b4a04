"""Amounts of money as they are read: in the company's currency, its figures as the language has
them. Amounts are whole minor units, and never anything else."""

from decimal import Decimal

from django.utils.formats import number_format

from finishing.models import Company

SPACE = "\N{NO-BREAK SPACE}"


def amount(minor: int, company: Company) -> str:
    """Return an amount such as "1,234.50 EUR"; the figure alone where no currency is chosen."""
    figures = plain_amount(minor, company, grouped=True)
    return f"{figures}{SPACE}{company.currency}" if company.currency else figures


def plain_amount(minor: int, company: Company, *, grouped: bool = False) -> str:
    """Return the figure of an amount, as a form takes it back."""
    digits = company.currency_digits
    figure = Decimal(minor).scaleb(-digits)
    return number_format(figure, decimal_pos=digits, force_grouping=grouped, use_l10n=grouped)
