"""The odds of handovers as calendars tell of them: the day that holds in 8 of 10."""

from collections.abc import Callable, Iterable
from datetime import datetime

from django.core.cache import cache
from django.db import transaction

from finishing.models import Company
from scheduling.models import FeedLink, ToldHandover
from scheduling.models.link import OUTDATED
from scheduling.queries.odds_untold import TOLD_TO, odds_untold
from scheduling.queries.plans import latest_publication
from scheduling.services.kept_answers import kept_answer
from scheduling.services.odds import HandoverOdds, NothingPlannedError, current_odds
from scheduling.services.source_histories import TooLittleAirError

AGAIN_AFTER_S = 10 * 60
"""By then whoever was to tell them is gone, or has failed."""

type Tell = Callable[..., object]
"""Tells the odds of a company, as of now, or has somebody else do it."""


def tell_odds(*, company: Company, now: datetime) -> None:
    """Tell, once for each revision, which day of each handover holds in 8 of 10, where somebody
    follows a calendar that says so. Where nobody has found the odds yet that takes seconds: call
    it outside any transaction.

    Where there are no odds, because too little air is on record or no work is to come, none are
    told.
    """
    for _, _, revision in odds_untold().filter(pk=company.pk):
        _store(company, _odds(company, now), revision, now)


def odds_to_tell(*, of: Company | None = None) -> list[int]:
    """Return the companies (pk) whose odds somebody is to tell, or the one asked about if it is
    among them: each once, and again where its odds have not been told after a while."""
    untold = odds_untold().filter(pk=of.pk) if of else odds_untold()
    return [
        pk
        for pk, public_id, revision in untold
        if cache.add(f"tells:{public_id}:{revision}", True, AGAIN_AFTER_S)
    ]


def _odds(company: Company, now: datetime) -> Iterable[HandoverOdds]:
    try:
        return kept_answer(current_odds, company=company, now=now).handovers
    except (NothingPlannedError, TooLittleAirError):
        return ()


@transaction.atomic
def _store(company: Company, odds: Iterable[HandoverOdds], revision: int, now: datetime) -> None:
    """Store them, unless another revision has been published meanwhile."""
    latest = latest_publication(company)
    if latest is None or latest.revision != revision:
        return
    holds = {(row.house, row.areas, row.due_on): row.holds_on for row in odds}
    rows = ToldHandover.objects.select_for_update().filter(company=company, cancelled_at=None)
    for row in rows.select_related("house"):
        day = holds.get((row.house.name, tuple(row.areas), row.due_on))
        if day != row.holds_on:
            row.touch(now.replace(microsecond=0))
        row.holds_on, row.odds_revision = day, revision
        row.save()
    FeedLink.objects.filter(company=company, kind__in=TOLD_TO).update(**OUTDATED)
