"""Odds of handovers as sentences."""

from datetime import datetime
from zoneinfo import ZoneInfo

from django.utils.formats import number_format
from django.utils.translation import gettext

from finishing.rules.histories import LEAST_DAYS
from scheduling.air_wording import ago
from scheduling.services.odds import EnsembleUsed, HandoverOdds, TooLittleAir
from scheduling.wording import day, listed, moment


def odds_sentence(odds: HandoverOdds) -> str:
    """Say when a handover is due, how likely it is kept, and which day holds in 8 of 10; or what
    is missing to say so."""
    areas = listed(list(odds.areas))
    what = odds.house + (f" ({areas})" if areas else "")
    due = gettext("%(what)s: due %(day)s") % {"what": what, "day": day(odds.due_on)}
    if odds.lacking:
        return f"{due}, {lacking_sentence(odds.lacking)}"
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


def lacking_sentence(lacking: TooLittleAir) -> str:
    """Say why there are no odds in a house."""
    said = gettext(
        "no odds: %(source)s has %(days)s whole days of the season on record, at least %(least)s "
        "are needed"
    )
    return said % {"source": lacking.air_source, "days": lacking.days, "least": LEAST_DAYS}


def drawn_from_sentence(ensemble: EnsembleUsed, now: datetime, zone: ZoneInfo) -> str:
    """Say that histories come from a forecast's ensemble, how old that is and until when."""
    said = gettext(
        "the air until %(until)s comes from the ensemble of %(source)s (%(members)s members, "
        "fetched %(ago)s), and from the record after that"
    )
    return said % {
        "until": moment(ensemble.until, zone),
        "source": ensemble.air_source,
        "members": ensemble.members,
        "ago": ago(ensemble.fetched_at, now),
    }


def _percent(share: float) -> int:
    """Return a share in whole percent; 0 and 100 are only what is so in no or every history."""
    percent = round(100 * share)
    return min(max(percent, 1), 99) if 0 < share < 1 else percent
