"""How fast a company's people put compound on, each figure beside its default."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from api.web.day_field import DayField
from api.web.figure_field import FigureField
from api.web.form_group import CompanyGroup, VersionedForm
from finishing.models import Change, PlacingRate, User
from finishing.models.owned import Row
from finishing.rules.placing import ASSUMED, DEFAULT_LITRES_PER_HOUR, PLACED
from finishing.rules.vocabulary import Stage
from finishing.services.errors import Fault
from finishing.services.placing import PlacingLine, edit_placing, own_placing, placing_faults
from scheduling.wording import day, figure, stage_name

NAMES = ("litres_per_hour", "source", "dated")


class PlacingForm(VersionedForm):
    """One rate; blank litres, or the tick, are its default."""

    litres_per_hour = FigureField(label=gettext_lazy("Litres an hour, one person"))
    source = forms.CharField(
        label=gettext_lazy("Where it comes from"), max_length=200, required=False
    )
    dated = DayField(label=gettext_lazy("Holds since"))
    reset = forms.BooleanField(label=gettext_lazy("Back to the default"), required=False)

    def __init__(self, stage: Stage, own: PlacingRate | None, data: Any, **more: Any) -> None:
        super().__init__(data, **more)
        self.stage, self.own = stage, own
        values = {"litres": figure(DEFAULT_LITRES_PER_HOUR[stage]), "source": ASSUMED}
        said = _("Default: %(litres)s (%(source)s)") % values
        self.fields["litres_per_hour"].help_text = said
        if own is None:
            del self.fields["reset"]

    def legend(self) -> str:
        return stage_name(self.stage)

    def in_brief(self) -> str:
        """Say the rate, and whether it is the company's own."""
        if self.own:
            said = _("%(litres)s L an hour, your own")
            return said % {"litres": figure(self.own.litres_per_hour)}
        return _("%(litres)s L an hour") % {"litres": figure(DEFAULT_LITRES_PER_HOUR[self.stage])}

    def line(self) -> PlacingLine:
        typed = dict(self.cleaned_data)
        if typed.pop("reset", False):
            typed["litres_per_hour"] = None
        return PlacingLine(place=str(self.prefix), stage=self.stage, **typed)


class PlacingGroup(CompanyGroup):
    """A form for each stage that puts compound on."""

    logs = (Change.What.PLACING,)

    def build(self) -> list[forms.Form]:
        rows = own_placing(self.company)
        return [self._form(stage, rows.get(stage)) for stage in PLACED]

    def check(self) -> Iterable[Fault]:
        return placing_faults(self._lines())

    def save(self, by: User, now: datetime) -> None:  # noqa: ARG002
        edit_placing(company=self.company, lines=self._lines())

    def in_words(self, row: Row) -> str:
        assert isinstance(row, PlacingRate)
        said = _("%(what)s: %(litres)s litres an hour (%(source)s, %(day)s)")
        return said % {
            "what": stage_name(row.stage),
            "litres": figure(row.litres_per_hour),
            "source": row.source,
            "day": day(row.dated),
        }

    def _form(self, stage: Stage, row: PlacingRate | None) -> PlacingForm:
        initial: dict[str, Any] = {"version": row.version if row else 0}
        if row:
            initial |= {name: getattr(row, name) for name in NAMES}
        return PlacingForm(stage, row, self.sent(stage), prefix=stage, initial=initial)

    def _lines(self) -> list[PlacingLine]:
        return [
            form.line()
            for form in self.forms
            if isinstance(form, PlacingForm) and form.is_bound and not form.errors
        ]
