"""Signing in: with an address and a password, not too often, each browser noted."""

from typing import Any

from django.contrib.auth import login
from django.contrib.auth.forms import AuthenticationForm
from django.core.exceptions import ValidationError
from django.http import HttpRequest
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from api.web.came_from import address_of
from finishing.models import User
from finishing.services.sign_in_limits import forget_tries, may_try
from finishing.services.user_sessions import note_session

LOCKED = _("Too many tries. Wait 15 minutes, or choose a new password by e-mail.")


class SignInForm(AuthenticationForm):
    """An address and a password. What is wrong never tells whether there is such an account."""

    error_messages = {
        "invalid_login": _("The address or the password is wrong."),
        "inactive": _("The address or the password is wrong."),
    }

    def clean(self) -> dict[str, Any]:
        account = self.cleaned_data.get("username") or ""
        address = address_of(self.request) or ""
        if not account or not self.cleaned_data.get("password"):
            return super().clean()
        if not may_try(account=account, address=address, now=timezone.now()):
            raise ValidationError(LOCKED, code="locked")
        cleaned = super().clean()
        forget_tries(account=account, address=address)
        return cleaned


def sign_in(request: HttpRequest, user: User) -> None:
    """Sign somebody in who has shown who they are, and note where."""
    login(request, user, backend="django.contrib.auth.backends.ModelBackend")
    note_browser(request, user)


def note_browser(request: HttpRequest, user: User) -> None:
    """Note the session that this request has, once it is somebody's."""
    key = request.session.session_key
    assert key
    note_session(
        user=user,
        session_key=key,
        address=address_of(request),
        browser=request.headers.get("User-Agent", ""),
        now=timezone.now(),
    )
