"""Odds of handovers as sentences."""

from django.utils.formats import number_format
from django.utils.translation import gettext

from scheduling.services.odds import HandoverOdds
from scheduling.wording import day, listed


def odds_sentence(odds: HandoverOdds) -> str:
    """Say when a handover is due, how likely it is kept, and which day holds in 8 of 10."""
    areas = listed(list(odds.areas))
    what = odds.house + (f" ({areas})" if areas else "")
    due = gettext("%(what)s: due %(day)s") % {"what": what, "day": day(odds.due_on)}
    if odds.in_time is None:
        return due + ", " + gettext("cannot be met as planned")
    share = gettext("kept in %(percent)s %% of histories") % {
        "percent": number_format(_percent(odds.in_time), 0)
    }
    holds = (
        gettext("%(day)s holds in 8 of 10") % {"day": day(odds.holds_on)}
        if odds.holds_on
        else gettext("no day holds in 8 of 10")
    )
    return f"{due}, {share}; {holds}"


def _percent(share: float) -> int:
    """Return a share in whole percent; 0 and 100 are only what is so in no or every history."""
    percent = round(100 * share)
    return min(max(percent, 1), 99) if 0 < share < 1 else percent
