"""The API's clock stands at the Monday of the sites."""

import pytest
from django.utils import timezone

from tests.sites import MONDAY


@pytest.fixture(autouse=True)
def _this_monday(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(timezone, "now", lambda: MONDAY)
