"""Edits of what a company plans with besides its houses, in words."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.dates import WEEKDAYS
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from finishing.models import Change, Company
from finishing.rules.hours import WEEKDAYS as DAYS
from scheduling.field_wording import field_name
from scheduling.history_wording import edit_sentence
from scheduling.money_wording import amount
from scheduling.price_wording import price_name
from scheduling.value_wording import value_text
from scheduling.wording import figure, joint_name, stage_name

WHAT = {
    "settings": _("Settings"),
    "crew": _("Crew %(place)s"),
    "member": _("Person %(place)s"),
    "crew_hours": _("Hours of a week, %(place)s"),
    "day_off": _("Days off, %(place)s"),
    "extra": _("Extra hours, %(place)s"),
    "loan": _("Lent, %(place)s"),
    "holiday": _("Holiday %(place)s"),
    "compound": _("Compound %(place)s"),
    "system": _("Jointing system %(place)s"),
    "rate": _("Labour rate of %(place)s"),
    "placing": _("Placing rate of %(place)s"),
    "supply": _("Material %(place)s"),
    "stock": _("Stock of %(place)s"),
    "price": _("Price of %(place)s"),
    "pay": _("Pay of %(place)s"),
    "builder": _("Line for the builder of %(place)s"),
    "dryer": _("Dryer %(place)s"),
}
STAGE = "stage_"
MONEY = frozenset({"amount", "rate", "cost_per_day", "pack_prices"})
"""Fields in minor units of the company's money; a list has an amount for each pack."""


@dataclass(frozen=True)
class Words:
    """What the form that edits a kind of row calls its fields, and their values by code; money_of:
    the company in whose currency amounts are."""

    fields: Mapping[str, str] = field(default_factory=dict)
    values: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    money_of: Company | None = None

    def name(self, code: str) -> str:
        """Return what a field is called."""
        if code in self.fields:
            return self.fields[code]
        if code in DAYS:
            return str(WEEKDAYS[DAYS.index(code)])
        if code.startswith(STAGE):
            return stage_name(code.removeprefix(STAGE))
        if code == "stages_off_by_level":
            return gettext("Left off at a level")
        return field_name(code)

    def value(self, code: str, value: Any, zone: ZoneInfo) -> str:
        """Return a field's value."""
        if code == "stages_off_by_level":
            levels = [f"{k}: {self._list('stages', v)}" for k, v in (value or {}).items()]
            return ", ".join(levels) or gettext("nothing")
        if isinstance(value, list):
            return self._list(code, value) or gettext("nothing")
        if code in MONEY and value is not None and self.money_of:
            return amount(value, self.money_of)
        if code == "water_fraction" and value is not None:
            return f"{figure(100 * value)} %"
        known = self.values.get(code, {}).get("" if value is None else str(value))
        return known or value_text(code, value, zone)

    def _list(self, code: str, values: list[Any]) -> str:
        return ", ".join(self._one(code, value) for value in values)

    def _one(self, code: str, value: Any) -> str:
        if code == "stages":
            return stage_name(value)
        if code in MONEY and self.money_of:
            return amount(value, self.money_of)
        known = self.values.get(code, {}).get(str(value))
        return known or (figure(value) if isinstance(value, int | float) else str(value))


def company_change_sentence(change: Change, words: Words, zone: ZoneInfo) -> str:
    """Say what somebody edited, and each field from what to what; zone: the company's."""
    place = change.place
    if change.what == Change.What.RATE:
        stage, kind = place.split(":")
        place = f"{stage_name(stage)}, {joint_name(kind)}"
    if change.what == Change.What.PLACING:
        place = stage_name(place)
    elif change.what == Change.What.PRICE:
        kind, _colon, owner = place.partition(":")
        place = price_name(kind, owner)
    elif change.what == Change.What.PAY:
        place = _whose_pay(place)
    what = str(WHAT.get(change.what, change.what)) % {"place": place}
    return edit_sentence(
        change, what, words.name, lambda code, value: words.value(code, value, zone)
    )


def _whose_pay(place: str) -> str:
    """Say whose pay it is and by what; place: stage and whose."""
    stage, _colon, whose = place.partition(":")
    if stage:
        said = gettext("%(whose)s, by the m² of %(stage)s")
        return said % {"whose": whose, "stage": stage_name(stage)}
    return gettext("%(whose)s, by the hour") % {"whose": whose}
