"""Writes sent under a key: each carried out once."""

from datetime import timedelta

import pytest

from finishing.models import Company, SentRequest
from finishing.services.sent_requests import (
    KEPT,
    LEASE,
    InProgressError,
    KeyReusedError,
    claim_request,
    finish_request,
    give_up_request,
)
from tests.factories import make_company
from tests.sites import MONDAY

pytestmark = pytest.mark.django_db
SECOND = timedelta(seconds=1)


def claim(
    company: Company, key: str = "k", *, sha: str = "a", after: timedelta = timedelta(0)
) -> SentRequest:
    return claim_request(
        company=company, sender="token 1", key=key, request_sha256=sha, now=MONDAY + after
    )


def test_what_is_done_is_answered_again() -> None:
    company = make_company()
    ours = claim(company)
    assert ours.status == 0
    finish_request(request=ours, status=201, headers={"ETag": '"1"'}, body="{}")
    known = claim(company, after=KEPT - SECOND)
    assert (known.status, known.headers, known.body) == (201, {"ETag": '"1"'}, "{}")
    assert claim(company, after=KEPT + SECOND).status == 0


def test_a_request_under_way_is_not_carried_out_beside() -> None:
    company = make_company()
    claim(company)
    with pytest.raises(InProgressError):
        claim(company, after=LEASE)


def test_a_key_is_for_one_request_of_one_sender_of_one_company() -> None:
    company = make_company()
    claim(company)
    with pytest.raises(KeyReusedError):
        claim(company, sha="b")
    claim(company, key="other", sha="b")
    claim(make_company("Another firm"), sha="b")
    claim_request(company=company, sender="token 2", key="k", request_sha256="b", now=MONDAY)
    assert SentRequest.objects.count() == 4


def test_what_was_refused_may_be_sent_again() -> None:
    company = make_company()
    give_up_request(request=claim(company))
    assert claim(company, sha="b").status == 0


def test_who_lost_its_claim_undoes_its_work() -> None:
    company = make_company()
    lost = claim(company)
    taken = claim(company, after=LEASE + SECOND)
    assert taken.pk == lost.pk
    with pytest.raises(InProgressError):
        finish_request(request=lost, status=201, headers={}, body="")
    give_up_request(request=lost)
    finish_request(request=taken, status=204, headers={}, body="")
    assert claim(company, after=LEASE + SECOND).status == 204


def test_old_ones_are_swept_away() -> None:
    company = make_company()
    finish_request(request=claim(company), status=200, headers={}, body="")
    claim(company, key="later", after=KEPT + SECOND)
    assert list(SentRequest.objects.values_list("key", flat=True)) == ["later"]
