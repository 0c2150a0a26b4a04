"""How far each area was when its house was taken on, as the office enters it: all on one form."""

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from api.web.form_group import HouseGroup, VersionedForm
from api.web.row_field import RowField, offer
from finishing.models import Area, CoatDone, Compound, User
from finishing.models.owned import Row
from finishing.rules.vocabulary import Stage
from finishing.services.coats_done import CoatLine, coat_faults, edit_coats_done
from finishing.services.errors import Fault
from finishing.services.local_times import (
    LocalTimeError,
    TwiceError,
    both_utc_of,
    read_local,
    utc_of,
)
from scheduling.field_wording import FIELDS
from scheduling.wording import listed, moment, stage_name

FIRST, SECOND = "first", "second"


class CoatForm(VersionedForm):
    """One area. which: of an hour that comes twice as clocks go back, which one."""

    stage = forms.ChoiceField(label=FIELDS["stage"], required=False)
    compound: RowField[Compound] = RowField(label=FIELDS["compound"], required=False)
    ended_at = forms.CharField(
        label=FIELDS["ended_at"],
        required=False,
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}),
    )
    which = forms.ChoiceField(
        label=gettext_lazy("The hour that comes twice"),
        required=False,
        choices=[
            ("", ""),
            (FIRST, gettext_lazy("before clocks went back")),
            (SECOND, gettext_lazy("after clocks went back")),
        ],
    )
    done_by = forms.CharField(label=FIELDS["done_by"], max_length=120, required=False)

    def __init__(
        self, area: Area, compounds: Sequence[Compound], zone: ZoneInfo, data: Any, **more: Any
    ) -> None:
        super().__init__(data, **more)
        self.area, self.zone = area, zone
        stage = self.fields["stage"]
        assert isinstance(stage, forms.ChoiceField)
        stage.choices = [("", ""), *((one.value, stage_name(one)) for one in Stage)]
        offer(self, "compound", area.house.company, compounds, blank="")
        if not (self.is_bound and self._comes_twice()):
            del self.fields["which"]

    def legend(self) -> str:
        return self.area.name

    def clean(self) -> dict[str, Any]:
        """Bring the hour to UTC; the clock change is never guessed."""
        typed = self.cleaned_data.pop("ended_at", "")
        which = self.cleaned_data.pop("which", "")
        try:
            self.cleaned_data["ended_at"] = self._instant(typed, which) if typed else None
        except TwiceError:
            said = _(
                "Clocks went back on this day, and this hour comes twice: choose which it was."
            )
            self.add_error("which", said)
        except LocalTimeError as error:
            self.add_error("ended_at", str(error))
        return self.cleaned_data

    def line(self) -> CoatLine:
        typed = {
            **self.cleaned_data,
            "stage": Stage(self.cleaned_data["stage"]) if self.cleaned_data["stage"] else None,
        }
        return CoatLine(place=str(self.prefix), area=self.area, **typed)

    def _instant(self, typed: str, which: str) -> datetime:
        local = read_local(typed)
        if which:
            return both_utc_of(local, self.zone)[which == SECOND]
        return utc_of(local, self.zone)

    def _comes_twice(self) -> bool:
        try:
            self._instant(str(self["ended_at"].value() or ""), "")
        except TwiceError:
            return True
        except LocalTimeError:
            return False
        return False


class CoatsGroup(HouseGroup):
    """All areas of a house."""

    def build(self) -> list[forms.Form]:
        self.zone = ZoneInfo(self.house.zone)
        compounds = Compound.objects.filter(company=self.house.company_id).order_by("name")
        self.compounds = list(compounds)
        areas = self.house.areas.select_related("coat_done__compound")
        return [self._form(area, getattr(area, "coat_done", None)) for area in areas]

    def check(self) -> Iterable[Fault]:
        return coat_faults(self._lines(), timezone.now())

    def save(self, by: User, now: datetime) -> None:
        edit_coats_done(house=self.house, lines=self._lines(), by=by, now=now)

    def in_words(self, row: Row) -> str:
        assert isinstance(row, CoatDone)
        compound = row.compound.name if row.compound else ""
        done = [stage_name(row.stage), compound, moment(row.ended_at, self.zone), row.done_by]
        return f"{row.area.name}: {listed(done)}"

    def _form(self, area: Area, row: CoatDone | None) -> CoatForm:
        prefix = f"area-{area.public_id}"
        initial: dict[str, Any] = {"version": row.version if row else 0}
        if row:
            local = row.ended_at.astimezone(self.zone)
            initial |= {"stage": row.stage, "done_by": row.done_by}
            initial["ended_at"] = f"{local:%Y-%m-%dT%H:%M}"
            initial["compound"] = str(row.compound.public_id) if row.compound else ""
        sent = self.sent(prefix)
        return CoatForm(area, self.compounds, self.zone, sent, prefix=prefix, initial=initial)

    def _lines(self) -> list[CoatLine]:
        return [
            form.line()
            for form in self.forms
            if isinstance(form, CoatForm) and form.is_bound and not form.errors
        ]
