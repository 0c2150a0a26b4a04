"""Sending an event to a webhook, signed as Standard Webhooks 1.0.0 has it.

https://github.com/standard-webhooks/standard-webhooks/blob/main/spec/standard-webhooks.md
("Signature scheme", "Webhook headers", "Operational considerations").
"""

import hashlib
import hmac
import json
from base64 import b64decode, b64encode
from collections.abc import Iterator
from datetime import datetime

import httpx
from django.conf import settings

from finishing.services.sealed import SealedError, unseal
from finishing.services.web_answers import Asker, NoAnswer, Taken, careful_client
from scheduling.models import Outgoing, Webhook
from scheduling.outgoing.endpoint import judge_failure
from scheduling.outgoing.not_sent import NotSent
from scheduling.outgoing.reach import reach
from scheduling.outgoing.retries import asked_pause
from scheduling.services.endpoints import note_answer, switch_off
from scheduling.services.webhooks import PREFIX

GONE = 410
"""The other side wants no more of it."""


def send_webhook(row: Outgoing, now: datetime) -> None:
    """Send one row's event. What has been tried to the end and reached nobody since it was written
    switches the webhook off, as an answer of 410 does at once."""
    webhook = row.webhook
    assert webhook is not None
    if webhook.off_at is not None:
        raise NotSent("it is switched off", for_good=True)
    try:
        taken = _post(webhook, row, now)
        gone = taken.status == GONE
        if gone:
            switch_off(endpoint=webhook, why=Webhook.Off.GONE, now=now)
        if not httpx.codes.is_success(taken.status):
            pause = asked_pause(taken.retry_after, now)
            raise NotSent(f"the answer was {taken.status}", for_good=gone, pause=pause)
    except NotSent:
        judge_failure(webhook, row, now)
        raise
    note_answer(endpoint=webhook, now=now)


def _post(webhook: Webhook, row: Outgoing, now: datetime) -> Taken:
    reached = reach(webhook.address, settings.WEBHOOK_HOSTS)
    body = json.dumps(row.payload, sort_keys=True, separators=(",", ":")).encode()
    headers = {
        "Host": reached.host,
        "Content-Type": "application/json",
        "User-Agent": "Coatweave",
        **signed(
            body, message_id=str(row.public_id), secrets=list(_secrets(webhook, now)), now=now
        ),
    }
    try:
        with careful_client() as client:
            url = httpx.URL(reached.url)
            return Asker(client).post(url, content=body, headers=headers, tls_name=reached.name)
    except NoAnswer as fault:
        raise NotSent(str(fault)) from None


def signed(body: bytes, *, message_id: str, secrets: list[str], now: datetime) -> dict[str, str]:
    """Return the headers that sign a body: with each of the secrets, so that either verifies."""
    stamp = str(int(now.timestamp()))
    content = f"{message_id}.{stamp}.".encode() + body
    return {
        "webhook-id": message_id,
        "webhook-timestamp": stamp,
        "webhook-signature": " ".join(_signature(content, secret) for secret in secrets),
    }


def _signature(content: bytes, secret: str) -> str:
    key = b64decode(secret.removeprefix(PREFIX))
    return "v1," + b64encode(hmac.digest(key, content, hashlib.sha256)).decode("ascii")


def _secrets(webhook: Webhook, now: datetime) -> Iterator[str]:
    """Yield what signs now, the newest first."""
    try:
        yield unseal(webhook.secret)
        if webhook.former_until is not None and now < webhook.former_until:
            yield unseal(webhook.former_secret)
    except SealedError as fault:
        raise NotSent(f"its secret was {fault}: give it a new one") from None
