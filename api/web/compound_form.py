"""A compound as the office edits it: what it may do and what its label says."""

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
from finishing.models import Change, Company, Compound, User
from finishing.models.compound import LIMITS
from finishing.models.owned import Row
from finishing.rules.compounds import NEEDS_COMPOUND
from finishing.rules.vocabulary import Stage
from finishing.services.compounds import (
    COMPOUND_FIELDS,
    SystemFaultsError,
    compound_faults,
    save_compound,
)
from finishing.services.errors import Fault, InputFaults
from scheduling.compound_wording import HARDENING, TAPES, system_faults_said
from scheduling.wording import stage_name

STAGES = tuple(stage for stage in Stage if stage in NEEDS_COMPOUND)


def _figure(
    name: str, label: Any, meaning: Any = "", kind: type[FigureField] = FigureField, times: int = 1
) -> FigureField:
    least, most = LIMITS[name]
    return limited(kind, label, (least * times, most * times), meaning)


class CompoundForm(VersionedForm):
    """Its fields are ``compounds.COMPOUND_FIELDS``; water in percent."""

    name = forms.CharField(label=gettext_lazy("Name"), max_length=120)
    hardening = forms.ChoiceField(
        label=gettext_lazy("How it hardens"), choices=[*HARDENING.items()]
    )
    stages = forms.MultipleChoiceField(
        label=gettext_lazy("Stages it may be used for"),
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    tapes = forms.MultipleChoiceField(
        label=gettext_lazy("Tapes it may bed"),
        required=False,
        widget=forms.CheckboxSelectMultiple,
        choices=[*TAPES.items()],
    )
    hard = forms.BooleanField(
        label=gettext_lazy("A hard coat: never goes over a softer one"), required=False
    )
    deep_fill = forms.BooleanField(label=gettext_lazy("May fill deep gaps"), required=False)
    working_minutes = _figure(
        "working_minutes",
        gettext_lazy("Working time, minutes"),
        gettext_lazy("From mixing until it cannot be worked; 0 where it does not set."),
        WholeField,
    )
    set_hours = _figure(
        "set_hours", gettext_lazy("Hard after, hours"), gettext_lazy("0 where it does not set.")
    )
    practice_hours = _figure(
        "practice_hours",
        gettext_lazy("Least wait to the next coat, hours"),
        gettext_lazy("However dry the air is."),
    )
    sand_hours = _figure("sand_hours", gettext_lazy("Least wait to sanding, hours"))
    density_kg_per_l = _figure("density_kg_per_l", gettext_lazy("Weight when wet, kg a litre"))
    water_fraction = _figure(
        "water_fraction", gettext_lazy("Water when wet, % by weight"), times=100
    )
    powder_kg_per_l = _figure(
        "powder_kg_per_l",
        gettext_lazy("Powder in a litre mixed, kg"),
        gettext_lazy("0 where it is bought ready-mixed."),
    )
    pack_kg = PacksField(
        label=gettext_lazy("Packs, kg"), required=False, help_text=gettext_lazy("Like 5; 10; 20.")
    )
    pack_prices = PricesField(
        label=gettext_lazy("Price of each pack"),
        required=False,
        help_text=gettext_lazy("In the order of the packs, like 7.90; 12.50, or nothing."),
    )
    opened_days = _figure(
        "opened_days",
        gettext_lazy("Keeps once opened, days"),
        gettext_lazy("0: what is left of a pack is not kept to another day."),
        WholeField,
    )
    lead_days = _figure(
        "lead_days",
        gettext_lazy("Delivered after, days"),
        gettext_lazy("From ordering on; 0 where it is always there."),
        WholeField,
    )
    awaited = forms.BooleanField(label=gettext_lazy("Plans wait for its delivery"), required=False)
    minimum_c = _figure(
        "minimum_c",
        gettext_lazy("Coldest air, °C"),
        gettext_lazy("While worked and until dry or set."),
    )
    maximum_c = _figure("maximum_c", gettext_lazy("Hottest air, °C"))
    conditioning_hours = _figure(
        "conditioning_hours",
        gettext_lazy("Warm enough before it, hours"),
        gettext_lazy("So long the air must have been as warm as the coldest allowed."),
    )

    def __init__(self, data: Any = None, **more: Any) -> None:
        super().__init__(data, **more)
        stages = self.fields["stages"]
        assert isinstance(stages, forms.MultipleChoiceField)
        stages.choices = [(stage.value, stage_name(stage)) for stage in STAGES]

    def clean_water_fraction(self) -> float:
        return round(float(self.cleaned_data["water_fraction"]) / 100, 6)

    def legend(self) -> str:
        return _("The compound")


class CompoundGroup(CompanyGroup):
    """The form of one compound; row None: of a new one."""

    logs = (Change.What.COMPOUND,)

    def __init__(
        self, company: Company, row: Compound | None, data: QueryDict | None = None
    ) -> None:
        self.row = row
        super().__init__(company, data)

    def build(self) -> list[forms.Form]:
        self.row = Compound.objects.filter(pk=self.row.pk).first() if self.row else None
        shown = self.row or Compound()
        initial = {name: getattr(shown, name) for name in COMPOUND_FIELDS}
        initial["water_fraction"] = round(shown.water_fraction * 100, 4)
        initial["version"] = self.row.version if self.row else 0
        return [money_of(self.company, CompoundForm(self.sent(""), initial=initial))]

    def check(self) -> Iterable[Fault]:
        """Look at all that can be read together; the row's own checks do it again."""
        read = self.forms[0].cleaned_data
        typed = {name: read[name] for name in COMPOUND_FIELDS if name in read}
        found = list(compound_faults(self.company, self.row, typed))
        return [fault for fault in found if fault.place in typed]

    def save(self, by: User, now: datetime) -> None:  # noqa: ARG002
        values = dict(self.forms[0].cleaned_data)
        version = values.pop("version")
        try:
            save_compound(company=self.company, compound=self.row, version=version, values=values)
        except SystemFaultsError as error:
            raise InputFaults(system_faults_said(error)) from None

    def in_words(self, row: Row) -> str:
        """Name what differs from what was typed."""
        form = self.forms[0]
        other = [
            str(form.fields[name].label)
            for name in COMPOUND_FIELDS
            if form.cleaned_data.get(name) != getattr(row, name)
        ]
        said = _("%(name)s: otherwise than you typed: %(fields)s")
        return said % {"name": str(row), "fields": ", ".join(other) or _("nothing")}
