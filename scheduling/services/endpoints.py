"""Switching off and on what a company has news sent to, by hand or because nothing arrives."""

from datetime import datetime

from django.db import transaction
from django.db.models import F

from finishing.models import Deed, User
from finishing.services.deeds import note_deed
from finishing.services.rows import change_row, remove_row
from scheduling.models.endpoint import Endpoint
from scheduling.services.addresses import host_of

Off = Endpoint.Off


@transaction.atomic
def switch(
    *, endpoint: Endpoint, version: int, on: bool, now: datetime, by: User | None = None
) -> None:
    """Switch an endpoint on or off; raise StaleRowsError where it has another version by now."""
    values = {"off_at": None if on else now, "off_why": "" if on else Off.BY_HAND}
    if change_row(endpoint, version=version, values=values):
        code = Deed.Code.SENDING_ON if on else Deed.Code.SENDING_OFF
        note_sending(endpoint, code, by=by, now=now)


@transaction.atomic
def remove_endpoint(
    *, endpoint: Endpoint, version: int, now: datetime, by: User | None = None
) -> None:
    """Remove an endpoint and what was or is to be sent to it; see ``remove_row``."""
    remove_row(endpoint, version=version)
    note_sending(endpoint, Deed.Code.SENDING_REMOVED, by=by, now=now)


@transaction.atomic
def switch_off(*, endpoint: Endpoint, why: Endpoint.Off, now: datetime) -> None:
    """Switch off an endpoint that nothing reaches, unless it is off already."""
    rows = type(endpoint)._default_manager.filter(pk=endpoint.pk, off_at=None)
    if rows.update(off_at=now, off_why=why, version=F("version") + 1):
        note_sending(endpoint, Deed.Code.SENDING_OFF, by=None, now=now, why=str(why))


def note_sending(
    endpoint: Endpoint, code: Deed.Code, *, by: User | None, now: datetime, why: str = ""
) -> None:
    """Note what was done with an endpoint: of its address the host alone, since the rest may be a
    secret. by: None where this program did it."""
    note_deed(
        company=endpoint.company,
        by=by,
        code=code,
        now=now,
        about=host_of(endpoint.address),
        what=str(endpoint._meta.model_name),
        why=why,
    )


def note_answer(*, endpoint: Endpoint, now: datetime) -> None:
    """Remember that an endpoint has taken something. Nobody edits that, so it is no new version."""
    type(endpoint)._default_manager.filter(pk=endpoint.pk).update(answered_at=now)
