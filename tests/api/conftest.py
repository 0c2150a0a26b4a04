"""What page tests share: someone of a company who is signed in."""

from collections.abc import Callable, Iterator

import pytest
from django.test import Client, override_settings
from pytest_django import Settings

from finishing.models import Company, User

type SignIn = Callable[[Company | None], Client]


@pytest.fixture(scope="session", autouse=True)
def _collected_nowhere(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Serve no collected files: pages are tested without a collectstatic run."""
    with override_settings(STATIC_ROOT=tmp_path_factory.mktemp("static")):
        yield


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
