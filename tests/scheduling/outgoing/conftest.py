"""What tests of sending share."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from pytest_django import Settings

from tests.scheduling.outgoing.receiver import Receiver, receiver


@pytest.fixture
def received(
    settings: Settings, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> Iterator[Receiver]:
    """A server that may be sent to, and whose authority this process trusts."""
    with receiver() as server:
        settings.WEBHOOK_HOSTS = server.allowed
        authority = tmp_path / "authority.pem"
        server.ca.cert_pem.write_to_path(str(authority))
        monkeypatch.setenv("SSL_CERT_FILE", str(authority))
        yield server
