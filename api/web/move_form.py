"""Where a visit is to go, as typed: a crew, a day and a time on its clock."""

from datetime import UTC, datetime, time
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from api.web.row_field import RowField, offer
from finishing.models import Company, Crew
from finishing.services.local_times import YEARS, LocalTimeError, TwiceError, both_utc_of, utc_of
from scheduling.services.moving import TICK, Spot

FIRST, SECOND = "first", "second"


class MoveForm(forms.Form):
    """A spot for a visit. which: of a time that comes twice, the first or the second."""

    crew: RowField[Crew] = RowField(
        label=_("Crew"),
        error_messages={
            "required": _("Choose the crew."),
            "invalid_choice": _("This crew gets no new work. Choose another."),
        },
    )
    day = forms.DateField(
        label=_("Day"),
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        error_messages={
            "required": _("Choose the day."),
            "invalid": _("This is no day: write it like 2026-03-02."),
        },
    )
    time = forms.TimeField(
        label=_("Work begins"),
        widget=forms.TimeInput(attrs={"type": "time", "step": 300}, format="%H:%M"),
        error_messages={
            "required": _("Choose the time."),
            "invalid": _("This is no time: write it like 07:30."),
        },
    )
    which = forms.ChoiceField(
        label=_("Which of the two"),
        required=False,
        choices=[
            (FIRST, _("the first time, before the clocks go back")),
            (SECOND, _("the second")),
        ],
        error_messages={"invalid_choice": _("Choose the first or the second time.")},
    )

    def __init__(self, company: Company, data: Any = None, **more: Any) -> None:
        super().__init__(data, label_suffix="", **more)
        self.is_twice = False
        """Whether the time comes twice on that day."""
        known = Crew.objects.filter(company=company, is_active=True).select_related("company")
        offer(self, "crew", company, known.order_by("name"))

    def clean(self) -> dict[str, Any]:
        said = self.cleaned_data
        if said.get("day") and said["day"].year not in YEARS:
            self.add_error("day", gettext("This day is too far away. Choose another."))
        at: time | None = said.get("time")
        if at and (at.minute % 5 or at.second or at.microsecond):
            self.add_error("time", gettext("Times go by five minutes, like 07:30 or 07:35."))
        if {"crew", "day", "time"} <= said.keys():
            said["starts_at"] = self._instant(ZoneInfo(said["crew"].zone))
        return said

    def spot(self) -> Spot:
        """Return where the visit is to go, of a form without faults."""
        return Spot(self.cleaned_data["crew"], self.cleaned_data["starts_at"])

    def faults(self) -> list[tuple[str, str]]:
        """Return the field's id and the words of all that is wrong, in order."""
        return [(f"id_{name}", str(text)) for name, all_ in self.errors.items() for text in all_]

    def _instant(self, zone: ZoneInfo) -> datetime | None:
        said = self.cleaned_data
        local = datetime.combine(said["day"], said["time"])
        try:
            return utc_of(local, zone)
        except TwiceError:
            self.is_twice = True
            if said.get("which"):
                return both_utc_of(local, zone)[said["which"] == SECOND]
            self.add_error(
                "which", gettext("The clocks go back then: this time comes twice. Say which.")
            )
        except LocalTimeError:
            self.add_error(
                "time",
                gettext("The clocks go forward then: there is no such time. Choose another."),
            )
        return None


def typed(spot: Spot) -> dict[str, str]:
    """Return what somebody would type to ask for a spot."""
    zone = ZoneInfo(spot.crew.zone)
    at = spot.starts_at.astimezone(zone)
    text = {
        "crew": str(spot.crew.public_id),
        "day": f"{at:%Y-%m-%d}",
        "time": f"{at:%H:%M}",
    }
    first, second = both_utc_of(at.replace(tzinfo=None, fold=0), zone)
    if first != second:
        text["which"] = SECOND if at.fold else FIRST
    return text


def read_spot(company: Company, crew: str, instant: str) -> Spot | None:
    """Read a crew's id and an instant in whole seconds since 1970, as a button or the drawing
    sends them; None where either is none of ours, or the instant is too far away."""
    try:
        at = datetime.fromtimestamp(int(instant), UTC)
        found = Crew.objects.select_related("company").get(
            company=company, public_id=crew, is_active=True
        )
    except (ValueError, OverflowError, OSError, Crew.DoesNotExist, forms.ValidationError):
        return None
    if at.year not in YEARS:  # not every instant has a local time
        return None
    return Spot(found, at - (at - datetime.fromtimestamp(0, UTC)) % TICK)
