"""What hours, ways and late days cost, as the office edits it: a line for each price, and two to
add."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from api.web.crew_group import NEW_LINES, LineForm
from api.web.day_field import DayField
from api.web.form_group import CompanyGroup
from api.web.money_field import MoneyField
from api.web.row_field import RowField
from finishing.models import Change, Company, Crew, House, Price, User
from finishing.models.owned import Row
from finishing.services.errors import Fault
from finishing.services.prices import PriceLine, edit_prices, price_faults
from scheduling.cost_wording import amount_since
from scheduling.money_wording import amount
from scheduling.price_wording import PRICES, price_name
from scheduling.wording import day

type Owners = list[Crew | House]


class PriceForm(LineForm):
    """One price; whose is blank for everybody's."""

    kind = forms.ChoiceField(label=gettext_lazy("Price of a"), choices=[*PRICES.items()])
    whose: RowField[Crew | House] = RowField(label=gettext_lazy("Of"), required=False)
    amount = MoneyField(label=gettext_lazy("Amount"))
    since = DayField(label=gettext_lazy("Holds from"))
    field_order = ("version", "kind", "whose", "amount", "since", "remove")

    def __init__(self, company: Company, owners: Owners, row: Price | None, data: Any, **more: Any):
        super().__init__(row.public_id if row else None, data, **more)
        self.company, self.row = company, row
        whose, money = self.fields["whose"], self.fields["amount"]
        assert isinstance(whose, RowField)
        assert isinstance(money, MoneyField)
        whose.offer(company, owners, blank=_("all without one of their own"))
        money.of(company)

    def legend(self) -> str:
        if self.row is None:
            return _("Add a price")
        return price_name(self.row.kind, _owner_name(self.row))

    def in_brief(self) -> str:
        """Say how much it is, and from when on."""
        return amount_since(self.row.amount, self.row.since, self.company) if self.row else ""

    def is_wanted(self) -> bool:
        """Return whether it is to be there: what is chosen alone makes no new line."""
        typed = {*self.changed_data} - {"kind", "whose"}
        return not self.is_removed() and (self.key is not None or bool(typed))

    def clean(self) -> dict[str, Any]:
        self.ask_for({"amount": _("Say how much."), "since": _("Choose the first day.")})
        return self.cleaned_data

    def line(self) -> PriceLine:
        typed = self.cleaned_data
        whose = typed["whose"]
        return PriceLine(
            place=str(self.prefix),
            kind=typed["kind"],
            amount=typed["amount"],
            since=typed["since"],
            crew=whose if isinstance(whose, Crew) else None,
            house=whose if isinstance(whose, House) else None,
            public_id=self.key,
            version=typed["version"],
            remove=self.is_removed(),
        )


class PricesGroup(CompanyGroup):
    """All prices of a company by kind and day, and two lines to add."""

    logs = (Change.What.PRICE,)

    def build(self) -> list[forms.Form]:
        rows = Price.objects.filter(company=self.company).select_related("crew", "house")
        self.rows = list(rows)
        self.owners = self._owners()
        return [
            *(self._form(f"price-{row.public_id}", row) for row in self.rows),
            *(self._form(prefix, None) for prefix in NEW_LINES),
        ]

    def check(self) -> Iterable[Fault]:
        for fault in price_faults(self.company, self._lines(), self.rows):
            place = fault.place.removesuffix("-crew").removesuffix("-house")
            yield fault if place == fault.place else Fault(f"{place}-whose", fault.text)

    def save(self, by: User, now: datetime) -> None:  # noqa: ARG002
        edit_prices(company=self.company, lines=self._lines())

    def in_words(self, row: Row) -> str:
        assert isinstance(row, Price)
        name = price_name(row.kind, _owner_name(row))
        said = _("%(name)s: %(amount)s from %(day)s")
        return said % {
            "name": name,
            "amount": amount(row.amount, self.company),
            "day": day(row.since),
        }

    def _owners(self) -> Owners:
        """Return the crews and houses in work, and those others that have a price already."""
        kept = [owner for row in self.rows if (owner := row.crew or row.house)]
        crews = Crew.objects.filter(company=self.company, is_active=True)
        houses = House.objects.filter(company=self.company, is_active=True).order_by("name")
        return list({owner.public_id: owner for owner in (*crews, *houses, *kept)}.values())

    def _form(self, prefix: str, row: Price | None) -> PriceForm:
        initial: dict[str, Any] = {"version": 0}
        if row:
            initial = {name: getattr(row, name) for name in ("version", "kind", "amount", "since")}
            owner = row.crew or row.house
            initial["whose"] = str(owner.public_id) if owner else ""
        data = self.sent(prefix)
        return PriceForm(self.company, self.owners, row, data, prefix=prefix, initial=initial)

    def _lines(self) -> list[PriceLine]:
        return [
            form.line()
            for form in self.forms
            if isinstance(form, PriceForm) and form.is_bound and not form.errors
            if form.is_wanted() or form.is_removed()
        ]


def _owner_name(row: Price) -> str:
    owner = row.crew or row.house
    return owner.name if owner else ""
