"""Switching off and on what a company has news sent to, by hand or because nothing arrives."""

from datetime import datetime

from django.db import transaction
from django.db.models import F

from finishing.services.rows import change_row, remove_row
from scheduling.models.endpoint import Endpoint

Off = Endpoint.Off


@transaction.atomic
def switch(*, endpoint: Endpoint, version: int, on: bool, now: datetime) -> None:
    """Switch an endpoint on or off; raise StaleRowsError where it has another version by now."""
    values = {"off_at": None if on else now, "off_why": "" if on else Off.BY_HAND}
    change_row(endpoint, version=version, values=values)


@transaction.atomic
def remove_endpoint(*, endpoint: Endpoint, version: int) -> None:
    """Remove an endpoint and what was or is to be sent to it; see ``remove_row``."""
    remove_row(endpoint, version=version)


def switch_off(*, endpoint: Endpoint, why: Endpoint.Off, now: datetime) -> None:
    """Switch off an endpoint that nothing reaches, unless it is off already."""
    rows = type(endpoint)._default_manager.filter(pk=endpoint.pk, off_at=None)
    rows.update(off_at=now, off_why=why, version=F("version") + 1)


def note_answer(*, endpoint: Endpoint, now: datetime) -> None:
    """Remember that an endpoint has taken something. Nobody edits that, so it is no new version."""
    type(endpoint)._default_manager.filter(pk=endpoint.pk).update(answered_at=now)
