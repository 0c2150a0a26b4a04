"""What page tests share: someone of a company who is signed in."""

from typing import Protocol

import pytest
from django.test import Client
from pytest_django import Settings

from finishing.models import Company, Crew, Role, User


class SignIn(Protocol):
    """Gives a browser of somebody of a company, or of none: of an owner unless a role is named."""

    def __call__(
        self, company: Company | None, role: Role = Role.OWNER, crew: Crew | None = None
    ) -> Client: ...


@pytest.fixture(autouse=True)
def _quick_passwords(settings: Settings) -> None:
    """Hash passwords quickly: the slow hash is Django's own and not under test."""
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]


@pytest.fixture(autouse=True)
def _no_rate(settings: Settings) -> None:
    """Ask as often as it takes: a test that walks through every address asks in a few seconds more
    than a program does."""
    settings.API_PER_MINUTE = 1_000_000


@pytest.fixture
def sign_in(db: None) -> SignIn:
    """Return a function that gives somebody's browser."""

    def signed_in(
        company: Company | None, role: Role = Role.OWNER, crew: Crew | None = None
    ) -> Client:
        email = f"office{User.objects.count()}@example.com"
        client = Client()
        user = User(email=email, company=company, role=role, crew=crew)
        user.set_unusable_password()
        user.save()
        client.force_login(user)
        return client

    return signed_in
