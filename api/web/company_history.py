"""What was edited of all that a company plans with besides its houses, the newest first."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.core.paginator import Page, Paginator
from django.utils.choices import flatten_choices

from api.web.builder_lines_form import BuilderLineForm
from api.web.compound_form import CompoundForm
from api.web.crew_days_forms import DayOffForm, ExtraHoursForm, LoanForm
from api.web.crew_facts_form import CrewFactsForm
from api.web.crew_members_form import MemberForm
from api.web.holidays_form import HolidayForm
from api.web.pay_form import PayTermForm
from api.web.placing_form import PlacingForm
from api.web.prices_form import PriceForm
from api.web.rates_form import RateForm
from api.web.settings_form import SettingsForm
from api.web.stock_form import StockForm
from api.web.supply_form import SupplyForm
from api.web.system_form import SystemForm
from finishing.models import Change, Company
from finishing.queries.company_changes import shown_changes, shown_fields
from scheduling.company_change_wording import Words, company_change_sentence
from scheduling.deed_wording import doer
from scheduling.wording import moment

A_PAGE = 30
FORMS: Mapping[str, type[forms.Form]] = {
    "settings": SettingsForm,
    "compound": CompoundForm,
    "system": SystemForm,
    "rate": RateForm,
    "price": PriceForm,
    "pay": PayTermForm,
    "builder": BuilderLineForm,
    "placing": PlacingForm,
    "supply": SupplyForm,
    "stock": StockForm,
    "holiday": HolidayForm,
    "crew": CrewFactsForm,
    "member": MemberForm,
    "day_off": DayOffForm,
    "extra": ExtraHoursForm,
    "loan": LoanForm,
}
"""By what was edited the form that edits it, whose words the history has too."""


@dataclass(frozen=True)
class Edit:
    """One edit. who: "" for a command."""

    when: str
    who: str
    text: str


@dataclass(frozen=True)
class CompanyHistoryPage:
    """A page of edits; page: its number and how many there are."""

    zone: str
    edits: list[Edit]
    page: Page[Any]


def company_history_page(company: Company, number: str, *, with_prices: bool) -> CompanyHistoryPage:
    """Return a page in a fixed number of queries; number: as typed, the nearest there is."""
    rows = Change.objects.filter(company=company, house=None).select_related("by")
    rows = shown_changes(rows, with_prices=with_prices)
    page = Paginator(rows.order_by("-at", "-pk"), A_PAGE).get_page(number)
    zone = ZoneInfo(company.zone)
    words = {what: words_of(form, company) for what, form in FORMS.items()}
    for row in page:
        row.fields = shown_fields(row, with_prices=with_prices)
    edits = [
        Edit(
            when=moment(row.at, zone),
            who=doer(row.by, row.program),
            text=company_change_sentence(row, words.get(row.what, Words(money_of=company)), zone),
        )
        for row in page
    ]
    return CompanyHistoryPage(company.zone, edits, page)


def words_of(form: type[forms.Form], company: Company) -> Words:
    """Return what a form calls its fields and the values to choose from."""
    fields = form.base_fields
    return Words(
        fields={name: str(one.label) for name, one in fields.items() if one.label},
        values={name: _choices(one) for name, one in fields.items()},
        money_of=company,
    )


def _choices(field: forms.Field) -> dict[str, str]:
    if not isinstance(field, forms.ChoiceField):
        return {}
    pairs: Iterable[tuple[Any, Any]] = flatten_choices(field.widget.choices)
    return {str(code): str(said) for code, said in pairs}
