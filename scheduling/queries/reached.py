"""Whom the newest publication has reached."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from finishing.models import Company, Crew
from scheduling.models import FeedLink, Publication, SeenPublication
from scheduling.queries.links import links_of_crews
from scheduling.queries.plans import latest_publication


@dataclass(frozen=True)
class Reached:
    """A crew that gets work. links: of its calendars that are in use. has_fetched: one of them has
    the newest publication. seen_at: when it has said that it has seen it."""

    crew: Crew
    links: Sequence[FeedLink]
    has_fetched: bool
    seen_at: datetime | None


@dataclass(frozen=True)
class NewestReached:
    """The newest publication, and each crew that gets work, by name."""

    publication: Publication
    crews: Sequence[Reached]

    @property
    def missed(self) -> list[Crew]:
        """The crews that have neither fetched it nor said that they have seen it."""
        return [one.crew for one in self.crews if not one.has_fetched and one.seen_at is None]


def newest_reached(company: Company) -> NewestReached | None:
    """Return whom the newest publication has reached; None where nothing is published."""
    newest = latest_publication(company)
    if newest is None:
        return None
    links: defaultdict[int | None, list[FeedLink]] = defaultdict(list)
    for link in links_of_crews(company).filter(revoked_at=None):
        links[link.crew_id].append(link)
    seen = dict(
        SeenPublication.objects.filter(company=company, publication=newest).values_list(
            "crew_id", "at"
        )
    )
    crews = Crew.objects.filter(company=company, is_active=True).order_by("name")
    return NewestReached(
        newest,
        [
            Reached(
                crew,
                links[crew.pk],
                any(link.fetched_revision >= newest.revision for link in links[crew.pk]),
                seen.get(crew.pk),
            )
            for crew in crews
        ],
    )
