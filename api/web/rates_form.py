"""A company's labour rates, each beside its default."""

from collections.abc import Iterable
from datetime import datetime
from decimal import Decimal
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.formats import number_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from api.web.day_field import DayField
from api.web.figure_field import FigureField
from api.web.form_group import CompanyGroup, VersionedForm
from api.web.rate_offers import OffersPart, offers_part
from finishing.models import Change, LabourRate, User
from finishing.models.owned import Row
from finishing.rules.labour import DEFAULT_RATES, Rate
from finishing.rules.vocabulary import Stage
from finishing.services.errors import Fault
from finishing.services.rates import RateLine, edit_rates, own_rates, rate_faults
from scheduling.wording import day, joint_name, stage_name

PER = {
    "m": gettext_lazy("a metre"),
    "m2": gettext_lazy("a square metre"),
    "each": gettext_lazy("each"),
}
NAMES = ("minutes", "source", "dated")


class RateForm(VersionedForm):
    """One rate; blank minutes, or the tick, are its default."""

    minutes = FigureField(label=gettext_lazy("Person-minutes"))
    source = forms.CharField(
        label=gettext_lazy("Where it comes from"), max_length=200, required=False
    )
    dated = DayField(label=gettext_lazy("Holds since"))
    reset = forms.BooleanField(label=gettext_lazy("Back to the default"), required=False)

    def __init__(self, rate: Rate, own: LabourRate | None, data: Any, **more: Any) -> None:
        super().__init__(data, **more)
        self.rate, self.own = rate, own
        values = {"minutes": _figure(rate.minutes), "per": PER[rate.per], "source": rate.source}
        said = _("Default: %(minutes)s %(per)s (%(source)s)")
        self.fields["minutes"].help_text = said % values
        if own is None:
            del self.fields["reset"]

    def legend(self) -> str:
        return joint_name(self.rate.kind)

    def in_brief(self) -> str:
        """Say the rate, and whether it is the company's own."""
        minutes = (self.own or self.rate).minutes
        values = {"minutes": _figure(minutes), "per": PER[self.rate.per]}
        if self.own:
            return _("%(minutes)s min %(per)s, your own") % values
        return _("%(minutes)s min %(per)s") % values

    def stage(self) -> str:
        return stage_name(self.rate.stage)

    def line(self) -> RateLine:
        typed = dict(self.cleaned_data)
        if typed.pop("reset", False):
            typed["minutes"] = None
        return RateLine(place=str(self.prefix), stage=self.rate.stage, kind=self.rate.kind, **typed)


class RatesGroup(CompanyGroup):
    """A form for each rate that work can ask for, in order of doing."""

    logs = (Change.What.RATE,)

    def build(self) -> list[forms.Form]:
        rows = own_rates(self.company)
        rates = sorted(DEFAULT_RATES, key=lambda rate: tuple(Stage).index(rate.stage))
        return [self._form(rate, rows.get((rate.stage, rate.kind))) for rate in rates]

    def offers(self) -> OffersPart:
        """Return what crews' reports say of the rates."""
        return offers_part(self.company, timezone.now())

    def check(self) -> Iterable[Fault]:
        return rate_faults(self.company, self._lines())

    def save(self, by: User, now: datetime) -> None:  # noqa: ARG002
        edit_rates(company=self.company, lines=self._lines())

    def in_words(self, row: Row) -> str:
        assert isinstance(row, LabourRate)
        said = _("%(what)s: %(minutes)s person-minutes (%(source)s, %(day)s)")
        return said % {
            "what": f"{stage_name(row.stage)}, {joint_name(row.kind)}",
            "minutes": _figure(row.minutes),
            "source": row.source,
            "day": day(row.dated),
        }

    def _form(self, rate: Rate, row: LabourRate | None) -> RateForm:
        prefix = f"{rate.stage}-{rate.kind}"
        initial: dict[str, Any] = {"version": row.version if row else 0}
        if row:
            initial |= {name: getattr(row, name) for name in NAMES}
        return RateForm(rate, row, self.sent(prefix), prefix=prefix, initial=initial)

    def _lines(self) -> list[RateLine]:
        return [
            form.line()
            for form in self.forms
            if isinstance(form, RateForm) and form.is_bound and not form.errors
        ]


def _figure(minutes: float) -> str:
    """Return minutes to the hundredth, less than one to three figures: as for a screw."""
    return number_format(Decimal(f"{minutes:.3g}" if minutes < 1 else f"{round(minutes, 2):g}"))
