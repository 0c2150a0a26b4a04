"""Tokens by which programs ask in a person's name, or in a machine's own."""

from django.core.exceptions import ValidationError
from django.db import models
from django.utils.translation import gettext_lazy as _

from finishing.models.owned import Owned


class ApiToken(Owned):
    """A token of the API, of a person or, where that is none, of a machine.

    scopes: values of queries.rights.Right; a person's token has those of them that their role has.
    secret_sha256: hex; the secret itself is kept nowhere. ending: its last characters, by which
    people tell tokens apart. parent: of the program that made it, and with which it ends.
    """

    name = models.CharField(max_length=120)
    person = models.ForeignKey(
        "finishing.User", on_delete=models.CASCADE, null=True, blank=True, related_name="tokens"
    )
    made_by = models.ForeignKey(
        "finishing.User", on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    parent = models.ForeignKey(
        "finishing.ApiToken", on_delete=models.CASCADE, null=True, blank=True, related_name="+"
    )
    scopes = models.JSONField()
    secret_sha256 = models.CharField(max_length=64, unique=True, editable=False)
    ending = models.CharField(max_length=4, editable=False)
    made_at = models.DateTimeField()
    expires_at = models.DateTimeField(null=True, blank=True)
    used_at = models.DateTimeField(null=True, blank=True)
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["made_at", "id"]
        constraints = [models.UniqueConstraint(fields=["company", "name"], name="token_name_once")]

    def __str__(self) -> str:
        return self.name

    def clean(self) -> None:
        """Refuse another company's person, and an end before the beginning."""
        if self.person is not None and self.person.company_id != self.company_id:
            raise ValidationError({"person": _("is another company's")})
        if self.expires_at is not None and self.expires_at <= self.made_at:
            raise ValidationError({"expires_at": _("is over already")})
