"""The page that an invitation leads to: a password is chosen, and one is signed in."""

from typing import Any

from django import forms
from django.contrib.auth.forms import SetPasswordMixin
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from api.access import secretive
from api.web.signing_in import sign_in
from finishing.models import Invitation, User
from finishing.services.invitations import join, open_invitation


class PasswordForm(SetPasswordMixin, forms.Form):  # type: ignore[type-arg]  # not subscriptable
    """A password, twice, held to what is asked of passwords."""

    password1, password2 = SetPasswordMixin.create_password_fields()

    def __init__(self, person: User, data: Any = None) -> None:
        self.person = person
        super().__init__(data)

    def clean(self) -> dict[str, Any]:
        self.validate_passwords("password1", "password2")
        self.validate_password_for_user(self.person, "password2")
        return super().clean() or {}


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def join_company(request: HttpRequest, token: str) -> HttpResponse:
    """Ask who was invited for a password, and sign them in."""
    invitation = open_invitation(token, now=timezone.now())
    if invitation is None:
        return secretive(render(request, "web/invitation_ended.html", status=410))
    person = User(email=invitation.email, company=invitation.company)
    form = PasswordForm(person, request.POST if request.method == "POST" else None)
    if form.is_bound and form.is_valid() and (joined := _joined(invitation, form)):
        sign_in(request, joined)
        return secretive(redirect("web:today"))
    context = {"invitation": invitation, "form": form}
    return secretive(
        render(request, "web/join.html", context, status=422 if form.is_bound else 200)
    )


def _joined(invitation: Invitation, form: PasswordForm) -> User | None:
    """Make the person; None, with why not in the form, where that cannot be done any more."""
    try:
        return join(
            invitation=invitation, password=form.cleaned_data["password1"], now=timezone.now()
        )
    except ValidationError as error:
        form.add_error(None, error)
        return None
