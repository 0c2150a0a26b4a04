"""Invitations to sign in for a company, sent by e-mail."""

from django.core.exceptions import ValidationError
from django.db import models
from django.utils.translation import gettext_lazy as _

from finishing.models.owned import Owned
from finishing.models.user import Role


class Invitation(Owned):
    """Somebody asked to sign in, until they have (``used_at``), it is taken back or is too old.

    Its link is signed from its public id (``services/invitations.py``), so none is stored.
    program: that invited them, for a person or on its own. mailed_at: when a mail server took it.
    """

    email = models.EmailField()
    role = models.CharField(max_length=9, choices=Role.choices)
    crew = models.ForeignKey(
        "finishing.Crew", on_delete=models.CASCADE, null=True, blank=True, related_name="+"
    )
    invited_by = models.ForeignKey(
        "finishing.User", on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    program = models.ForeignKey(
        "finishing.ApiToken", on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True, blank=True)
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    mailed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["email", "id"]

    def __str__(self) -> str:
        return self.email

    def clean(self) -> None:
        """Ask for the crew of a crew lead, and refuse it for others and of another company."""
        if (self.role == Role.CREW_LEAD) != (self.crew is not None):
            raise ValidationError({"crew": _("A crew lead has a crew, and nobody else.")})
        if self.crew is not None and self.crew.company_id != self.company_id:
            raise ValidationError({"crew": _("is another company's")})
