"""What the office published last, and whether a crew has said that it has seen it."""

from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from finishing.models import Crew
from scheduling.models import Publication, SeenPublication
from scheduling.queries.plans import latest_publication
from scheduling.services.seen import say_seen
from scheduling.wording import moment

SEEN = "seen"
"""The action of the form that says so."""


@dataclass(frozen=True)
class CrewNews:
    """A revision, when it was published and when this crew said that it has seen it ("" for not
    yet), in words of the crew's clock."""

    revision: int
    published: str
    seen: str


def crew_news(crew: Crew) -> CrewNews | None:
    """Return what was published last; None where nothing was."""
    newest = latest_publication(crew.company)
    if newest is None:
        return None
    zone = ZoneInfo(crew.zone)
    row = SeenPublication.objects.filter(crew=crew, publication=newest).first()
    seen = moment(row.at, zone) if row else ""
    return CrewNews(newest.revision, moment(newest.published_at, zone), seen)


def took_note(crew: Crew, revision: str, now: datetime) -> bool:
    """Note that a crew has seen a revision; return whether there is such a revision."""
    try:
        say_seen(crew=crew, revision=int(revision), now=now)
    except (ValueError, OverflowError, Publication.DoesNotExist):
        return False
    return True
