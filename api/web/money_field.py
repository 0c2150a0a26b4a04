"""An amount as a person types it, in the company's currency; its value is whole minor units."""

from decimal import Decimal, InvalidOperation
from typing import Any

from django import forms
from django.utils.translation import gettext, ngettext
from django.utils.translation import gettext_lazy as _

from finishing.models import Company
from scheduling.money_wording import plain_amount

MOST_MINOR = 2_000_000_000


class MoneyField(forms.CharField):
    """An amount with a point or a comma before its minor unit; ``of`` says whose money it is."""

    default_error_messages = {"invalid": _("This is no amount: type something like 45.50.")}

    def __init__(self, **options: Any) -> None:
        widget = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})
        super().__init__(**{"widget": widget, "required": False, "max_length": 20, **options})
        self.company = Company()

    def of(self, company: Company) -> None:
        """Take and show amounts in a company's money."""
        self.company = company
        if company.currency:
            self.label = f"{self.label}, {company.currency}"

    def prepare_value(self, value: Any) -> Any:
        return plain_amount(value, self.company) if isinstance(value, int) else value

    def clean(self, value: Any) -> Any:
        typed = str(super().clean(value)).replace(",", ".").replace(" ", "")
        return self._minor(typed) if typed else None

    def has_changed(self, initial: Any, data: Any) -> bool:
        return super().has_changed(self.prepare_value(initial), data)

    def _minor(self, typed: str) -> int:
        try:
            major = Decimal(typed)
        except InvalidOperation:
            raise forms.ValidationError(self.error_messages["invalid"]) from None
        if not major.is_finite():
            raise forms.ValidationError(self.error_messages["invalid"])
        if major < 0:
            raise forms.ValidationError(gettext("An amount is 0 or more."))
        minor = major.scaleb(self.company.currency_digits)
        if minor != int(minor):
            raise forms.ValidationError(self._too_fine())
        if minor > MOST_MINOR:
            raise forms.ValidationError(gettext("This is more than any price: check the zeros."))
        return int(minor)

    def _too_fine(self) -> str:
        digits = self.company.currency_digits
        if digits == 0:
            return gettext("This currency has no minor unit: type whole figures.")
        said = ngettext(
            "This currency has %(n)s digit after the point.",
            "This currency has %(n)s digits after the point.",
            digits,
        )
        return said % {"n": digits}
