"""When and by what calendars were fetched last: gathered in memory, and written once a minute for
all of them, since a write at each would cost more than the answer."""

from datetime import datetime, timedelta
from threading import Lock
from typing import NamedTuple

from django.db import transaction
from django.db.models import Q

from scheduling.models import FeedLink

LONGEST_CLIENT = 200
SET_BACK = timedelta(minutes=5)


class Fetch(NamedTuple):
    """A fetch. client: how the program calls itself; revision: that of what it has since."""

    at: datetime
    client: str
    revision: int


class GatheredFetches:
    """The newest fetch of each feed that is not written yet; many threads note, one writes."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._by_feed: dict[int, Fetch] = {}

    def note(self, pk: int, fetch: Fetch) -> None:
        """Remember a fetch of a feed."""
        with self._lock:
            self._by_feed[pk] = fetch

    def write(self) -> None:
        """Store what was gathered; what cannot be stored is kept for the next time."""
        with self._lock:
            taken, self._by_feed = self._by_feed, {}
        if not taken:
            return
        try:
            _store(taken)
        except Exception:
            with self._lock:
                self._by_feed = taken | self._by_feed
            raise


FETCHES = GatheredFetches()


@transaction.atomic
def _store(fetches: dict[int, Fetch]) -> None:
    """Store fetches, but for those that another process has had a later one of; one that is said to
    come much later was noted before the clock was set back."""
    for pk, fetch in sorted(fetches.items()):  # in one order: two processes never wait in a circle
        earlier = Q(fetched_at=None) | Q(fetched_at__lt=fetch.at)
        earlier |= Q(fetched_at__gt=fetch.at + SET_BACK)
        FeedLink.objects.filter(earlier, pk=pk).update(
            fetched_at=fetch.at,
            fetched_by=fetch.client[:LONGEST_CLIENT],
            fetched_revision=fetch.revision,
        )
