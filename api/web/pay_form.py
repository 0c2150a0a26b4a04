"""What crews and people are paid, as the office edits it: a line for each agreement, two to add."""

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
from finishing.models import Change, Company, Crew, PayTerm, User
from finishing.models.owned import Row
from finishing.rules.vocabulary import Stage
from finishing.services.errors import Fault
from finishing.services.pay_terms import (
    FIELDS,
    add_pay_term,
    change_pay_term,
    pay_term_faults,
    remove_pay_terms,
)
from scheduling.cost_wording import amount_since
from scheduling.money_wording import amount
from scheduling.wording import day, stage_name


class PayTermForm(LineForm):
    """One agreement: of a crew, or of a person; by the hour, or by the square metre of a stage."""

    crew: RowField[Crew] = RowField(label=gettext_lazy("Crew"), required=False)
    person = forms.CharField(
        label=gettext_lazy("Or a person, by name"), max_length=120, required=False
    )
    stage = forms.ChoiceField(label=gettext_lazy("Paid by"), required=False)
    amount = MoneyField(label=gettext_lazy("Amount"))
    since = DayField(label=gettext_lazy("Holds from"))
    field_order = ("version", "crew", "person", "stage", "amount", "since", "remove")

    def __init__(
        self, company: Company, crews: list[Crew], row: PayTerm | None, data: Any, **more: Any
    ):
        super().__init__(row.public_id if row else None, data, **more)
        self.row, self.company = row, company
        crew, stage, money = self.fields["crew"], self.fields["stage"], self.fields["amount"]
        assert isinstance(crew, RowField)
        assert isinstance(stage, forms.ChoiceField)
        assert isinstance(money, MoneyField)
        crew.offer(company, crews, blank=_("none: a person"))
        metres = [(one.value, _("m² of %(stage)s") % {"stage": stage_name(one)}) for one in Stage]
        stage.choices = [("", _("person-hour")), *metres]
        money.of(company)

    def legend(self) -> str:
        return pay_term_name(self.row) if self.row else _("Add an agreement")

    def in_brief(self) -> str:
        """Say how much it is, and from when on."""
        return amount_since(self.row.amount, self.row.since, self.company) if self.row else ""

    def is_wanted(self) -> bool:
        """What is chosen alone makes no new line."""
        typed = {*self.changed_data} - {"crew", "stage"}
        return not self.is_removed() and (self.key is not None or bool(typed))

    def clean(self) -> dict[str, Any]:
        self.ask_for({"amount": _("Say how much."), "since": _("Choose the first day.")})
        return self.cleaned_data

    def values(self) -> dict[str, Any]:
        return {name: self.cleaned_data[name] for name in FIELDS}


class PayTermsGroup(CompanyGroup):
    """All agreements of a company, the oldest first, and two lines to add."""

    logs = (Change.What.PAY,)

    def build(self) -> list[forms.Form]:
        self.rows = list(PayTerm.objects.filter(company=self.company).select_related("crew"))
        for row in self.rows:
            row.company = self.company
        active = Crew.objects.filter(company=self.company, is_active=True)
        kept = [row.crew for row in self.rows if row.crew]
        self.crews = list({crew.pk: crew for crew in (*active, *kept)}.values())
        return [
            *(self._form(f"pay-{row.public_id}", row) for row in self.rows),
            *(self._form(prefix, None) for prefix in NEW_LINES),
        ]

    def check(self) -> Iterable[Fault]:
        for form in self._sent():
            if form.is_wanted():
                for fault in pay_term_faults(self.company, form.values(), form.row):
                    yield Fault(form.add_prefix(fault.place), fault.text)

    def save(self, by: User, now: datetime) -> None:  # noqa: ARG002
        sent = self._sent()
        gone = [form for form in sent if form.is_removed()]
        remove_pay_terms([(form.row, form.cleaned_data["version"]) for form in gone if form.row])
        for form in sent:
            if form.is_wanted() and form.row:
                version = form.cleaned_data["version"]
                change_pay_term(row=form.row, version=version, values=form.values())
            elif form.is_wanted():
                add_pay_term(company=self.company, values=form.values())

    def in_words(self, row: Row) -> str:
        assert isinstance(row, PayTerm)
        said = _("%(name)s: %(amount)s from %(day)s")
        money = amount(row.amount, self.company)
        return said % {"name": pay_term_name(row), "amount": money, "day": day(row.since)}

    def _sent(self) -> list[PayTermForm]:
        return [
            form
            for form in self.forms
            if isinstance(form, PayTermForm) and form.is_bound and not form.errors
        ]

    def _form(self, prefix: str, row: PayTerm | None) -> PayTermForm:
        initial: dict[str, Any] = {"version": 0}
        if row:
            names = ("version", "person", "stage", "amount", "since")
            initial = {name: getattr(row, name) for name in names}
            initial["crew"] = str(row.crew.public_id) if row.crew else ""
        data = self.sent(prefix)
        return PayTermForm(self.company, self.crews, row, data, prefix=prefix, initial=initial)


def pay_term_name(row: PayTerm) -> str:
    """Return whose pay it is, and by what."""
    by = _("m² of %(stage)s") % {"stage": stage_name(row.stage)} if row.stage else _("hour")
    return _("%(whose)s, by the %(what)s") % {"whose": row.crew or row.person, "what": by}
