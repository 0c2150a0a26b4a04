"""A crew's word that it has seen what was published."""

from datetime import datetime

from finishing.models import Crew
from scheduling.models import Publication, SeenPublication


def say_seen(*, crew: Crew, revision: int, now: datetime) -> SeenPublication:
    """Note that a crew has seen a revision, and return the note; a second time changes nothing.

    Raises Publication.DoesNotExist for a revision that its company never published.
    """
    publication = Publication.objects.get(company=crew.company, revision=revision)
    row, _ = SeenPublication.objects.get_or_create(
        company=crew.company, crew=crew, publication=publication, defaults={"at": now}
    )
    return row
