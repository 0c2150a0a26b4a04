"""Where a company has news sent: other programs, and calendars on other servers."""

from django.db import models

from finishing.models.owned import Owned


class Endpoint(Owned):
    """A place that things are sent to, at an https address.

    ``answered_at``: when it last took something. It is switched off by who may, or by itself
    where nothing has reached it for long; ``off_why`` says which.
    """

    class Off(models.TextChoices):
        BY_HAND = "by_hand"
        FAILING = "failing"
        GONE = "gone"

    address = models.CharField(max_length=500)
    made_at = models.DateTimeField()
    answered_at = models.DateTimeField(null=True, blank=True)
    off_at = models.DateTimeField(null=True, blank=True)
    off_why = models.CharField(max_length=10, choices=Off.choices, blank=True)

    class Meta:
        abstract = True
        ordering = ["made_at", "id"]


class Webhook(Endpoint):
    """A program that is told of events, each signed with its secret, which is stored sealed.

    ``former_secret`` signs as well until ``former_until``, so that the other side has time.
    """

    class Event(models.TextChoices):
        PUBLISHED = "plan.published"
        BEFORE_DRY = "visit.before_dry"

    events = models.JSONField(default=list)
    secret = models.TextField()
    former_secret = models.TextField(blank=True)
    former_until = models.DateTimeField(null=True, blank=True)

    class Meta(Endpoint.Meta):
        constraints = [
            models.UniqueConstraint(fields=["company", "address"], name="webhook_address_once")
        ]

    def __str__(self) -> str:
        return f"webhook {self.public_id}"


class CalendarPush(Endpoint):
    """A collection on a calendar server (RFC 4791) that holds what a feed shows.

    The password is stored sealed: it belongs to one company, and the environment is everybody's.
    ending_at: since when what was put there is being taken out; then the row goes.
    """

    link = models.ForeignKey("scheduling.FeedLink", on_delete=models.CASCADE, related_name="+")
    username = models.CharField(max_length=200, blank=True)
    password = models.TextField(blank=True)
    ending_at = models.DateTimeField(null=True, blank=True)

    class Meta(Endpoint.Meta):
        constraints = [
            models.UniqueConstraint(fields=["company", "address"], name="collection_once")
        ]

    def __str__(self) -> str:
        return f"calendar {self.public_id}"


class PushedEntry(Owned):
    """An entry that was put into a collection, with the SHA-256 of its bytes: only what is here is
    ever changed or deleted there."""

    push = models.ForeignKey(CalendarPush, on_delete=models.CASCADE, related_name="entries")
    uid = models.UUIDField()
    sha256 = models.CharField(max_length=64)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["push", "uid"], name="pushed_once")]
