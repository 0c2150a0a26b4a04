"""What has changed since the published plan was made, in words."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from django.utils.translation import gettext, ngettext

from scheduling.wording import day, figure, listed

type Values = Mapping[str, Any]

_SHOWN_DAYS = 5


def since_sentence(code: str, values: Values) -> str:
    """Say what is otherwise; a code without words is shown as it is."""
    words = _WORDS.get(code)
    return words(values) if words else code


def _wet(values: Values) -> str:
    said = ngettext(
        "%(n)s visit arrives before the coat is dry: %(houses)s",
        "%(n)s visits arrive before the coat is dry: %(houses)s",
        values["visits"],
    )
    return said % {"n": values["visits"], "houses": listed(values["houses"])}


def _unfit(values: Values) -> str:
    said = ngettext(
        "%(n)s visit puts a coat into air too cold or too hot: %(houses)s",
        "%(n)s visits put a coat into air too cold or too hot: %(houses)s",
        values["visits"],
    )
    return said % {"n": values["visits"], "houses": listed(values["houses"])}


def _not_dry(values: Values) -> str:
    n = values["reports"]
    return ngettext("%(n)s coat was found wet", "%(n)s coats were found wet", n) % {"n": n}


def _not_done(values: Values) -> str:
    n = values["reports"]
    said = ngettext("%(n)s piece of work was not done", "%(n)s pieces of work were not done", n)
    return said % {"n": n}


def _left(values: Values) -> str:
    n = values["reports"]
    return ngettext("%(n)s task goes on longer", "%(n)s tasks go on longer", n) % {"n": n}


def _done(values: Values) -> str:
    n = values["reports"]
    said = ngettext("%(n)s task was reported done", "%(n)s tasks were reported done", n)
    return said % {"n": n}


def _pinned(values: Values) -> str:
    n = values["tasks"]
    return ngettext("the office pinned %(n)s task", "the office pinned %(n)s tasks", n) % {"n": n}


def _edited(values: Values) -> str:
    n = values["edits"]
    said = ngettext(
        "%(house)s: %(n)s edit of what it offers, who has it, or its hours and air",
        "%(house)s: %(n)s edits of what it offers, who has it, or its hours and air",
        n,
    )
    return said % {"house": values["house"], "n": n}


def _crew_hours(values: Values) -> str:
    days = [_day_hours(*of_day) for of_day in values["days"]]
    return gettext("%(crew)s, person-hours: %(days)s") % {
        "crew": values["crew"],
        "days": _first_few(days),
    }


def _crew_times(values: Values) -> str:
    return gettext("%(crew)s works at other times or can do other work: %(days)s") % {
        "crew": values["crew"],
        "days": _first_few([day(of_day) for of_day in values["days"]]),
    }


def _first_few(days: list[str]) -> str:
    more = len(days) - _SHOWN_DAYS
    if more > 0:
        words = ngettext("%(n)s day more", "%(n)s days more", more)
        days = [*days[:_SHOWN_DAYS], words % {"n": more}]
    return listed(days)


def _day_hours(of: date, before: float, after: float) -> str:
    return gettext("%(day)s %(after)s instead of %(before)s") % {
        "day": day(of),
        "after": figure(after),
        "before": figure(before),
    }


def _work_hours(values: Values) -> str:
    return gettext("%(house)s: %(after)s person-hours of work instead of %(before)s") % {
        "house": values["house"],
        "before": figure(values["before"]),
        "after": figure(values["after"]),
    }


def _due(values: Values) -> str:
    return gettext("%(house)s: handover %(after)s instead of %(before)s") % {
        "house": values["house"],
        "before": listed([day(one) for one in values["before"]]),
        "after": listed([day(one) for one in values["after"]]),
    }


def _work_come(values: Values) -> str:
    return gettext("%(house)s: %(hours)s person-hours of new work") % _with_hours(values)


def _work_gone(values: Values) -> str:
    return gettext("%(house)s: %(hours)s person-hours of work are gone") % _with_hours(values)


def _with_hours(values: Values) -> dict[str, str]:
    return {"house": values["house"], "hours": figure(values["hours"])}


_WORDS = {
    "wet_visits": _wet,
    "unfit_visits": _unfit,
    "said_not_dry": _not_dry,
    "said_not_done": _not_done,
    "said_left": _left,
    "said_done": _done,
    "pinned": _pinned,
    "edited": _edited,
    "crew_hours": _crew_hours,
    "crew_times": _crew_times,
    "crew_come": lambda values: gettext("%(crew)s is new") % values,
    "crew_gone": lambda values: gettext("%(crew)s gets no more work") % values,
    "work_come": _work_come,
    "work_gone": _work_gone,
    "work_hours": _work_hours,
    "due": _due,
}
