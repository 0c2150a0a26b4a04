"""The packs in which something is bought, and what each costs, as the office types them."""

import re
from typing import Any

from django import forms
from django.utils.translation import gettext as _

from api.web.money_field import MoneyField
from finishing.models import Company
from finishing.services.typed_numbers import number_of
from scheduling.wording import figure


class PacksField(forms.CharField):
    """Sizes, "5; 10; 20"."""

    def prepare_value(self, value: Any) -> Any:
        return "; ".join(map(figure, value)) if isinstance(value, list) else value

    def clean(self, value: Any) -> list[float]:
        try:
            return [number_of(part.replace(",", ".")) for part in _parts(super().clean(value))]
        except ValueError:
            raise forms.ValidationError(_("Write the sizes as 5; 10; 20.")) from None


class PricesField(forms.CharField):
    """Prices in a company's currency, "7.90; 12.50"; its value is whole minor units of each."""

    def __init__(self, **options: Any) -> None:
        super().__init__(**options)
        self.money = MoneyField()

    def of(self, company: Company) -> None:
        """Take and show prices in a company's money."""
        self.money = MoneyField()  # its own: the fields of all forms are copies that share theirs
        self.money.company = company
        if company.currency:
            self.label = f"{self.label}, {company.currency}"

    def prepare_value(self, value: Any) -> Any:
        shown = map(self.money.prepare_value, value) if isinstance(value, list) else None
        return value if shown is None else "; ".join(shown)

    def clean(self, value: Any) -> list[int]:
        return [self.money.clean(part) for part in _parts(super().clean(value))]


def money_of[F: forms.Form](company: Company, form: F) -> F:
    """Return a form whose prices of packs are in a company's money."""
    prices = form.fields["pack_prices"]
    assert isinstance(prices, PricesField)
    prices.of(company)
    return form


def _parts(typed: Any) -> list[str]:
    return [part for part in re.split(r"[;\s]+", str(typed)) if part]
