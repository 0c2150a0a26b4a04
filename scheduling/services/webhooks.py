"""Webhooks: made, tried, given a new secret. A secret is shown once."""

import secrets
from base64 import b64encode
from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from uuid import uuid4

from django.conf import settings
from django.db import transaction
from django.utils.translation import gettext as _

from finishing.models import Company, Deed, User
from finishing.services.errors import Fault, InputFaults
from finishing.services.rows import change_row
from finishing.services.sealed import seal
from scheduling.models import Outgoing, Webhook
from scheduling.services.addresses import address_faults
from scheduling.services.endpoints import note_sending
from scheduling.services.outbox import put_out
from scheduling.services.published_event import event_row

PREFIX = "whsec_"
"""How Standard Webhooks 1.0.0 writes a secret: this, then base64 (its table of schemes)."""
SECRET_BYTES = 32
"""Between its 24 and 64; as long as SHA-256's own block of output."""
TEST = "webhook.test"
"""The type of what is sent to try a webhook: no event that it can be told of."""
BOTH_SIGN = timedelta(hours=24)
"""How long the secret before still signs beside the new one."""


def webhook_faults(*, company: Company, address: str, events: Sequence[str]) -> Iterator[Fault]:
    """Yield what is wrong with a new webhook; the place is the field's name."""
    for code in address_faults(address, settings.WEBHOOK_HOSTS):
        yield Fault("address", code)
    if Webhook.objects.filter(company=company, address=address).exists():
        yield Fault("address", "address_taken")
    if not events:
        yield Fault("events", _("Tick at least one."))


@transaction.atomic
def add_webhook(
    *,
    company: Company,
    address: str,
    events: Sequence[str],
    now: datetime,
    by: User | None = None,
) -> tuple[Webhook, str]:
    """Make a webhook and return it with its secret, which cannot be had again.

    Raises InputFaults; those of the address are codes (``scheduling.outgoing_wording``).
    """
    if faults := list(webhook_faults(company=company, address=address, events=events)):
        raise InputFaults(faults)
    secret = new_secret()
    webhook = Webhook(
        company=company, address=address, events=list(events), secret=seal(secret), made_at=now
    )
    webhook.full_clean()
    webhook.save()
    note_sending(webhook, Deed.Code.SENDING_BEGUN, by=by, now=now)
    return webhook, secret


@transaction.atomic
def renew_secret(*, webhook: Webhook, version: int, now: datetime, by: User | None = None) -> str:
    """Give a webhook another secret and return it; the one before signs as well for a day.

    Raises StaleRowsError where the webhook has another version by now.
    """
    secret = new_secret()
    values = {
        "secret": seal(secret),
        "former_secret": webhook.secret,
        "former_until": now + BOTH_SIGN,
    }
    change_row(webhook, version=version, values=values)
    note_sending(webhook, Deed.Code.SENDING_RENEWED, by=by, now=now)
    return secret


@transaction.atomic
def send_test(*, webhook: Webhook, now: datetime) -> Outgoing:
    """Have a test sent, signed as any event is and said to be one: ``type`` is ``webhook.test``.
    Return the one that waits already, if one does. Raises InputFaults where it is switched off."""
    if webhook.off_at is not None:
        raise InputFaults([Fault("webhook", _("It is switched off: switch it on first."))])
    tests = Outgoing.objects.filter(webhook=webhook, payload__type=TEST)
    waiting = tests.filter(state=Outgoing.State.WAITING).first()
    if waiting is not None:
        return waiting
    data = {"company": str(webhook.company.public_id), "test": True}
    row = event_row(webhook, key=f"test:{uuid4()}", data=data, event=TEST, now=now)
    put_out([row])
    return tests.get(key=row.key)


def new_secret() -> str:
    """Return a secret as Standard Webhooks writes it."""
    return PREFIX + b64encode(secrets.token_bytes(SECRET_BYTES)).decode("ascii")
