"""What people did that others have to be able to look up: who told crews what, who may sign in."""

from django.db import models

from finishing.models.owned import Owned


class Deed(Owned):
    """One thing done. Never changed itself; ``services/deeds.py`` writes it.

    by_email, program: as they were then; program: of the API, for the person or on its own; both ""
    where a command did it. about: of what, by name as it was then.
    values: what else is to be said of it, plain and by name; no secret is among them.
    """

    class Code(models.TextChoices):
        PUBLISHED = "published"
        TOOK_BACK = "took_back"
        PINNED = "pinned"
        UNPINNED = "unpinned"
        LINK_MADE = "link_made"
        LINK_RENEWED = "link_renewed"
        LINK_REVOKED = "link_revoked"
        FIRST_OWNER = "first_owner"
        INVITED = "invited"
        INVITATION_WITHDRAWN = "withdrawn"
        JOINED = "joined"
        ROLE_CHANGED = "role_changed"
        REMOVED = "removed"
        TOKEN_MADE = "token_made"  # noqa: S105  # nosec B105
        TOKEN_REVOKED = "token_ended"  # noqa: S105  # nosec B105
        SENDING_BEGUN = "sending_new"
        SENDING_OFF = "sending_off"
        SENDING_ON = "sending_on"
        SENDING_RENEWED = "sending_key"
        SENDING_REMOVED = "sending_end"

    at = models.DateTimeField()
    by = models.ForeignKey(
        "finishing.User", on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    by_email = models.EmailField(blank=True)
    program = models.CharField(max_length=120, blank=True)
    code = models.CharField(max_length=12, choices=Code.choices)
    about = models.CharField(max_length=250, blank=True)
    values = models.JSONField(default=dict, blank=True)

    class Meta:
        ordering = ["-at", "-id"]
        indexes = [models.Index(fields=["company", "-at"])]

    def __str__(self) -> str:
        return f"{self.by_email} {self.code} {self.about}"
