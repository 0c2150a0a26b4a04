"""Where dryers stand in a plan, and what a crew does with them: codes and values -> sentences."""

from collections.abc import Iterable
from zoneinfo import ZoneInfo

from django.utils.translation import gettext, ngettext

from finishing.models import Company
from finishing.rules.vocabulary import DryerKind
from scheduling.money_wording import amount
from scheduling.wording import Codes, figure, moment


def dryer_sentence(row: Codes, zone: ZoneInfo, company: Company) -> str:
    """Say of a row of ``Plan.dryers`` where the unit stands and what that saves, or to leave it;
    company: in whose money it costs."""
    if row["code"] == "leave_it":
        return gettext("%(unit)s: leave it, it saves nothing in this plan") % {"unit": _unit(row)}
    values = {
        "unit": _unit(row),
        "house": row["house"],
        "down": moment(row["set_at"], zone),
        "up": moment(row["collect_at"], zone),
        "days": figure(row["days"]),
    }
    return (
        gettext("%(unit)s: in %(house)s from %(down)s to %(up)s (%(days)s days)") % values
        + f"; {_saved(row, company)}"
    )


def move_lines(moves: Iterable[Codes]) -> list[str]:
    """Say what a crew sets down and collects in a task."""
    return [_move(move) % {"dryer": move["dryer"]} for move in moves]


def _move(move: Codes) -> str:
    if move["code"] == "set_down":
        return gettext("set down: %(dryer)s, switched on")
    if move["kind"] == DryerKind.HEATER:
        return gettext("collect: %(dryer)s, switched off and cool")
    return gettext("collect: %(dryer)s, its tank emptied")


def _unit(row: Codes) -> str:
    if row["of"] == 1:
        return str(row["name"])
    values = {"name": row["name"], "number": row["unit"] + 1, "of": row["of"]}
    return gettext("%(name)s (%(number)s of %(of)s)") % values


def _saved(row: Codes, company: Company) -> str:
    """Lateness is weighted by what a late day of the house counts, summed over all houses."""
    if not row["saved_minutes"]:
        return gettext("what it saves is not known")
    said = gettext("saves %(hours)s of lateness, %(a_day)s a day that it stands") % {
        "hours": _hours(row["saved_minutes"]),
        "a_day": _hours(row["saved_minutes_a_day"]),
    }
    if not row["cost"]:
        return said
    return said + gettext(", costs %(money)s") % {"money": amount(row["cost"], company)}


def _hours(minutes: int) -> str:
    hours = round(minutes / 60, 1)
    said = ngettext("%(n)s hour", "%(n)s hours", 1 if hours == 1 else 2)
    return said % {"n": figure(hours)}
