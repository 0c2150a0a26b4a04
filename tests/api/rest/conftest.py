"""The API's clock stands at the Monday of the sites."""

import pytest
from django.utils import timezone
from pytest_django import Settings

from tests.sites import MONDAY


@pytest.fixture(autouse=True)
def _this_monday(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(timezone, "now", lambda: MONDAY)


@pytest.fixture(autouse=True)
def _no_rate(settings: Settings) -> None:
    """Ask as often as it takes: a test that walks through every address asks in a few seconds more
    than a program does."""
    settings.API_PER_MINUTE = 1_000_000
