"""What is bought beside compounds, as the office edits it."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from api.web.figure_field import FigureField, WholeField, limited
from api.web.form_group import CompanyGroup, VersionedForm
from api.web.pack_fields import PacksField, PricesField, money_of
from finishing.models import Change, Company, Supply, User
from finishing.models.owned import Row
from finishing.models.supply import LIMITS
from finishing.rules.supplies import USED_PER_UNIT
from finishing.services.errors import Fault
from finishing.services.supplies import SUPPLY_FIELDS, save_supply, supply_faults
from scheduling.compound_wording import SUPPLIES


class SupplyForm(VersionedForm):
    """Its fields are ``supplies.SUPPLY_FIELDS``."""

    kind = forms.ChoiceField(label=gettext_lazy("What it is"), choices=[*SUPPLIES.items()])
    name = forms.CharField(label=gettext_lazy("Name"), max_length=120)
    packs = PacksField(
        label=gettext_lazy("Packs, metres or pieces"),
        required=False,
        help_text=gettext_lazy("Like 75; 150."),
    )
    pack_prices = PricesField(
        label=gettext_lazy("Price of each pack"),
        required=False,
        help_text=gettext_lazy("In the order of the packs, like 3.10; 5.60, or nothing."),
    )
    used_per_unit = limited(
        FigureField,
        gettext_lazy("Bought for each metre, or m² sanded"),
        LIMITS["used_per_unit"],
        gettext_lazy(
            "Waste included: 1.1 is 10 % more than is laid. Visits planned before keep their "
            "metres of tape."
        ),
    )
    lead_days = limited(
        WholeField,
        gettext_lazy("Delivered after, days"),
        LIMITS["lead_days"],
        gettext_lazy("From ordering on; 0 where it is always there."),
    )
    awaited = forms.BooleanField(label=gettext_lazy("Plans wait for its delivery"), required=False)

    def legend(self) -> str:
        return _("The material")


class SupplyGroup(CompanyGroup):
    """The form of one supply; row None: of a new one."""

    logs = (Change.What.SUPPLY, Change.What.STOCK)

    def __init__(self, company: Company, row: Supply | None, data: QueryDict | None = None) -> None:
        self.row = row
        super().__init__(company, data)

    def build(self) -> list[forms.Form]:
        self.row = Supply.objects.filter(pk=self.row.pk).first() if self.row else None
        shown = self.row or self._next()
        initial: dict[str, Any] = {name: getattr(shown, name) for name in SUPPLY_FIELDS}
        initial["version"] = self.row.version if self.row else 0
        return [money_of(self.company, SupplyForm(self.sent(""), initial=initial))]

    def check(self) -> Iterable[Fault]:
        """Look at all that can be read together."""
        read = self.forms[0].cleaned_data
        typed = {name: read[name] for name in SUPPLY_FIELDS if name in read}
        found = list(supply_faults(self.company, self.row, typed))
        return [fault for fault in found if fault.place in typed]

    def save(self, by: User, now: datetime) -> None:  # noqa: ARG002
        values = dict(self.forms[0].cleaned_data)
        version = values.pop("version")
        save_supply(company=self.company, supply=self.row, version=version, values=values)

    def in_words(self, row: Row) -> str:
        form = self.forms[0]
        other = [
            str(form.fields[name].label)
            for name in SUPPLY_FIELDS
            if form.cleaned_data.get(name) != getattr(row, name)
        ]
        said = _("%(name)s: otherwise than you typed: %(fields)s")
        return said % {"name": str(row), "fields": ", ".join(other) or _("nothing")}

    def _next(self) -> Supply:
        """Return a kind that the company does not buy yet, with what is usually used of it."""
        there = set(Supply.objects.filter(company=self.company).values_list("kind", flat=True))
        kind = next(
            (kind for kind in USED_PER_UNIT if kind not in there), next(iter(USED_PER_UNIT))
        )
        return Supply(kind=kind, used_per_unit=USED_PER_UNIT[kind])
