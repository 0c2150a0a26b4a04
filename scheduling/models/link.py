"""Secret feed addresses and the bytes they answer with."""

from django.db import models

from finishing.models.owned import Owned


class FeedLink(Owned):
    """A crew's calendar feed. Its secret is HMAC(link key, public id, generation).

    Only the secret's SHA-256 is stored, to find the link by; ``body`` and ``etag`` are rendered
    at publication and again at the first fetch of a new local day.
    """

    crew = models.ForeignKey("finishing.Crew", on_delete=models.CASCADE, related_name="links")
    generation = models.PositiveIntegerField(default=1)
    secret_sha256 = models.CharField(max_length=64, unique=True)
    revoked_at = models.DateTimeField(null=True, blank=True)
    body = models.BinaryField(default=bytes, blank=True)
    etag = models.CharField(max_length=80, blank=True)
    rendered_revision = models.PositiveIntegerField(default=0)
    rendered_on = models.DateField(
        null=True, blank=True, help_text="the crew's local day of the bytes"
    )
    modified_at = models.DateTimeField(null=True, blank=True)
    fetched_at = models.DateTimeField(null=True, blank=True)
    fetched_by = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["crew"], name="link_of_crew_once")]


class FormerSecret(Owned):
    """A secret that a link had before it was renewed, so that its address can say that it has
    ended."""

    link = models.ForeignKey(FeedLink, on_delete=models.CASCADE, related_name="former_secrets")
    secret_sha256 = models.CharField(max_length=64, unique=True)
