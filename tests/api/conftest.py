"""What page tests share: someone of a company who is signed in."""

from collections.abc import Callable

import pytest
from django.test import Client
from pytest_django import Settings

from finishing.models import Company, User

type SignIn = Callable[[Company | None], Client]


@pytest.fixture(autouse=True)
def _quick_passwords(settings: Settings) -> None:
    """Hash passwords quickly: the slow hash is Django's own and not under test."""
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]


@pytest.fixture
def sign_in(db: None) -> SignIn:
    """Return a function that gives a browser of someone of a company, or of none."""

    def signed_in(company: Company | None) -> Client:
        email = f"office{User.objects.count()}@example.com"
        client = Client()
        client.force_login(User.objects.create(email=email, company=company))
        return client

    return signed_in
