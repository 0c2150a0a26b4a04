"""A new feed, with what only its kind tells of: who is at visits, handovers and their odds."""

from datetime import datetime

from django.db import transaction

from finishing.models import Deed, User
from finishing.services.deeds import note_deed
from scheduling.models import FeedLink
from scheduling.queries.plans import published_plan
from scheduling.services.links import add_link
from scheduling.services.told_handovers import tell_handovers
from scheduling.services.told_odds import Tell, tell_odds
from scheduling.services.told_people import tell_people


def add_feed(
    *, link: FeedLink, now: datetime, by: User | None = None, tell: Tell = tell_odds
) -> FeedLink:
    """Store a new feed; raises InputFaults, by field, where it is not in order.

    What is published was published perhaps before anybody's feed told of it, so that is noted now;
    tell: tells odds, which may take seconds, outside the transaction.
    """
    store_feed(link=link, now=now, by=by)
    tell(company=link.company, now=now)
    return link


@transaction.atomic
def store_feed(*, link: FeedLink, now: datetime, by: User | None = None) -> FeedLink:
    """Store a new feed as ``add_feed`` does, within a transaction of the caller's, who is to call
    ``tell_odds`` once that is over."""
    add_link(link=link)
    note_deed(company=link.company, by=by, code=Deed.Code.LINK_MADE, now=now, about=link)
    _tell(link, now)
    return link


def _tell(link: FeedLink, now: datetime) -> None:
    told_at = now.replace(microsecond=0)
    tell_people(company=link.company, now=told_at)
    tell_handovers(company=link.company, plan=published_plan(link.company), now=told_at)
