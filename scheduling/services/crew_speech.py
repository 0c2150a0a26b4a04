"""The language and units in which a crew is spoken to: by its page, its calendar, in messages."""

from django.db import transaction

from finishing.models import Crew
from scheduling.models import FeedLink


@transaction.atomic
def set_crew_speech(*, crew: Crew, language: str, units: str) -> Crew:
    """Set a crew's language ("en", "es") and units ("metric", "imperial", "" as usual in its
    country); its calendar is made again. Raises ValidationError for others."""
    crew.language, crew.units = language, units
    crew.version += 1
    crew.full_clean()
    crew.save()
    FeedLink.objects.filter(crew=crew).update(rendered_on=None)
    return crew
