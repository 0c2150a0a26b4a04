"""Where somebody is signed in, and how often signing in has failed."""

from django.db import models

from finishing.models.owned import Row


class UserSession(Row):
    """A browser that somebody has signed in with. session_key: that of Django's own session, which
    is what is ended; the row without one says nothing any more and is left out."""

    company = models.ForeignKey(
        "finishing.Company", on_delete=models.CASCADE, null=True, related_name="+"
    )
    user = models.ForeignKey("finishing.User", on_delete=models.CASCADE, related_name="+")
    session_key = models.CharField(max_length=40, unique=True)
    began_at = models.DateTimeField()
    address = models.GenericIPAddressField(null=True, blank=True)
    browser = models.CharField(max_length=250, blank=True)

    class Meta:
        ordering = ["-began_at", "-id"]

    def __str__(self) -> str:
        return f"{self.user_id} {self.began_at:%Y-%m-%d %H:%M} UTC"


class FailedSignIns(models.Model):
    """How often signing in has failed for an account from an address, one after the other.

    digest: SHA-256 of both, so that what people typed is kept nowhere.
    """

    digest = models.CharField(max_length=64, unique=True)
    count = models.PositiveIntegerField(default=0)
    last_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.count} until {self.last_at:%Y-%m-%d %H:%M} UTC"
