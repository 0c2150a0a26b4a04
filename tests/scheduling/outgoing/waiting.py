"""Rows that wait to be sent, for tests."""

from datetime import UTC, datetime
from typing import Any

from finishing.models import Company
from scheduling.models import Outgoing

NOW = datetime(2026, 3, 1, 18, tzinfo=UTC)


def make_waiting(company: Company, key: str = "one", **fields: Any) -> Outgoing:
    """A row that is due; without changes to tell, sending it finds it overtaken."""
    usual = {"kind": "mail", "recipient": "a@b.example", "payload": {"changes": []}}
    return Outgoing.objects.create(
        company=company, key=key, created_at=NOW, due_at=NOW, **{**usual, **fields}
    )
