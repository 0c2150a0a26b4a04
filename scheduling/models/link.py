"""Secret addresses: calendar feeds with the bytes they answer with, and crews' pages."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q

from finishing.models import Crew
from finishing.models.owned import Owned

MOST_WEEKS = 52


class Secret(Owned):
    """Something behind a secret address. The secret is HMAC(a link key, public id, generation).

    Only its SHA-256 is stored, to find the row by.
    """

    generation = models.PositiveIntegerField(default=1)
    secret_sha256 = models.CharField(max_length=64, unique=True)
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        abstract = True


class FeedLink(Secret):
    """A calendar feed: of a crew, a house (for its builder), a person or the whole company.

    person: a name, as its times in crews have it. for_whom: who follows the feed. weeks: how far
    ahead it goes, blank for all that is planned. language: blank for the crew's. names_crews: of a
    house, whether its builder is told which crew comes.

    ``body``, ``body_gzip`` and ``etag`` are rendered at publication and again at the first fetch of
    a new local day; ``rendering`` counts what makes them out of date and each time they are made.
    retold_at: when the same work was last told in other words, for all entries from before then.
    """

    class Kind(models.TextChoices):
        CREW = "crew"
        HOUSE = "house"
        PERSON = "person"
        COMPANY = "company"

    kind = models.CharField(max_length=7, choices=Kind.choices, default=Kind.CREW)
    crew = models.ForeignKey(
        "finishing.Crew", on_delete=models.CASCADE, null=True, blank=True, related_name="links"
    )
    house = models.ForeignKey(
        "finishing.House", on_delete=models.CASCADE, null=True, blank=True, related_name="+"
    )
    person = models.CharField(max_length=120, blank=True)
    for_whom = models.CharField(max_length=120, blank=True)
    weeks = models.PositiveSmallIntegerField(
        null=True, blank=True, validators=[MinValueValidator(1), MaxValueValidator(MOST_WEEKS)]
    )
    has_alarms = models.BooleanField(default=False)
    language = models.CharField(max_length=5, choices=Crew.Language.choices, blank=True)
    shows_drying = models.BooleanField(default=False)
    names_crews = models.BooleanField(default=False)

    body = models.BinaryField(default=bytes, blank=True)
    body_gzip = models.BinaryField(default=bytes, blank=True)
    etag = models.CharField(max_length=80, blank=True)
    rendering = models.PositiveIntegerField(default=0)
    rendered_revision = models.PositiveIntegerField(default=0)
    rendered_on = models.DateField(
        null=True, blank=True, help_text="the local day of the bytes; blank: out of date"
    )
    good_until = models.DateTimeField(
        null=True, blank=True, help_text="when that day is over: told without its zone's rows"
    )
    modified_at = models.DateTimeField(null=True, blank=True)
    retold_at = models.DateTimeField(null=True, blank=True)
    fetched_at = models.DateTimeField(null=True, blank=True)
    fetched_by = models.CharField(max_length=200, blank=True)
    fetched_revision = models.PositiveIntegerField(default=0)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(kind="crew", crew__isnull=False, house=None, person="")
                | Q(kind="house", crew=None, house__isnull=False, person="")
                | (Q(kind="person", crew=None, house=None) & ~Q(person=""))
                | Q(kind="company", crew=None, house=None, person=""),
                name="link_is_of_its_kind",
            ),
            models.UniqueConstraint(fields=["crew", "for_whom"], name="link_of_crew_for_whom_once"),
            models.UniqueConstraint(
                fields=["house", "for_whom"], name="link_of_house_for_whom_once"
            ),
            models.UniqueConstraint(
                fields=["company", "kind", "person", "for_whom"],
                condition=Q(crew=None, house=None),
                name="other_link_for_whom_once",
            ),
        ]

    def __str__(self) -> str:
        whose = f" ({self.for_whom})" if self.for_whom else ""
        return f"{self.subject}{whose}"

    @property
    def subject(self) -> str:
        """What the feed is of, by name."""
        return str(self.crew or self.house or self.person or self.company)

    @property
    def zone(self) -> str:
        """The zone on whose clock its days begin: the crew's, the house's or the company's."""
        return (self.crew or self.house or self.company).zone

    @property
    def spoken(self) -> str:
        """The language that the feed is in."""
        return self.language or (self.crew.language if self.crew else Crew.Language.ENGLISH)


OUTDATED: Mapping[str, Any] = {
    "rendered_on": None,
    "good_until": None,
    "rendering": F("rendering") + 1,
}
"""What to update a link with so that its bytes are rendered before they are next answered."""


def retold(now: datetime) -> Mapping[str, Any]:
    """Return what to update a link with when its entries say the same in other words from now on:
    programs that go by stamps take no new text without a new one."""
    return {**OUTDATED, "retold_at": now}


class CrewPage(Secret):
    """A crew's page for a phone. Whoever has its address may report, so it is no feed's."""

    crew = models.OneToOneField("finishing.Crew", on_delete=models.CASCADE, related_name="page")

    def __str__(self) -> str:
        return str(self.crew)


class Former(Owned):
    """A secret that something had before. still_opens: it was made with a key that has been
    replaced, and its address works on; else it says that it has ended."""

    secret_sha256 = models.CharField(max_length=64, unique=True)
    still_opens = models.BooleanField(default=False)

    class Meta:
        abstract = True


class FormerSecret(Former):
    """A former secret of a feed."""

    link = models.ForeignKey(FeedLink, on_delete=models.CASCADE, related_name="former_secrets")


class FormerPageSecret(Former):
    """A former secret of a crew's page."""

    link = models.ForeignKey(CrewPage, on_delete=models.CASCADE, related_name="former_secrets")
