"""Writes sent under a key: each carried out once, its answer kept to be given again.

A claim is stored by itself, so that a second request that comes meanwhile is told so. What the
write answers is stored in the write's own transaction: both are there or neither is. A claim whose
process died is over after a while; should it still be alive, it finds the claim taken and undoes
its work.
"""

from collections.abc import Mapping
from datetime import datetime, timedelta
from uuid import uuid4

from django.db import IntegrityError, transaction
from django.db.models import Q

from finishing.models import Company, SentRequest

KEPT = timedelta(hours=48)
LEASE = timedelta(minutes=5)
"""Longer than any request takes."""


class KeyReusedError(Exception):
    """The key was given to another request."""


class InProgressError(Exception):
    """The request of this key is being carried out."""


def claim_request(
    *, company: Company, sender: str, key: str, request_sha256: str, now: datetime
) -> SentRequest:
    """Return the request of a key: ours to carry out, or, with a status, what was answered to it.

    Call it outside the write's transaction. Raises KeyReusedError and InProgressError.
    """
    SentRequest.objects.filter(company=company, claimed_at__lt=now - KEPT).delete()
    ours = SentRequest(
        company=company,
        sender=sender,
        key=key,
        request_sha256=request_sha256,
        claim=uuid4(),
        claimed_at=now,
    )
    try:
        with transaction.atomic():
            ours.save(force_insert=True)
    except IntegrityError:
        return _known(ours, now)
    return ours


def _known(ours: SentRequest, now: datetime) -> SentRequest:
    """Return what is stored under the key of a request, or take over where its claim is over."""
    rows = SentRequest.objects.filter(company=ours.company_id, sender=ours.sender, key=ours.key)
    known = rows.first()
    if known is None:  # given up in this very moment: whoever asks again finds it free
        raise InProgressError
    if known.request_sha256 != ours.request_sha256:
        raise KeyReusedError
    if known.status:
        return known
    is_over = Q(claimed_at__lt=now - LEASE) | Q(claimed_at__gt=now + LEASE)  # by another clock
    as_seen = rows.filter(is_over, claim=known.claim, status=0)
    if not as_seen.update(claim=ours.claim, claimed_at=now):
        raise InProgressError
    return rows.get()


def finish_request(
    *, request: SentRequest, status: int, headers: Mapping[str, str], body: str
) -> None:
    """Store what was answered, in the write's own transaction.

    Raises InProgressError, which is to undo the write, where another has taken the claim over.
    """
    mine = SentRequest.objects.filter(pk=request.pk, claim=request.claim, status=0)
    if not mine.update(status=status, headers=dict(headers), body=body):
        raise InProgressError


def give_up_request(*, request: SentRequest) -> None:
    """Let go of a claim whose write was refused: nothing was done, so it may be sent again."""
    SentRequest.objects.filter(pk=request.pk, claim=request.claim, status=0).delete()
