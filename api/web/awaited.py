"""Parts of pages that a worker has yet to work out: the page's script comes again for them."""

from datetime import datetime
from typing import Any

from django.http import HttpRequest, HttpResponse

from finishing.models import Company
from scheduling.jobs import request_answer
from scheduling.services.kept_answers import Question

PENDING = 204
"""Leaves what stands in the part's place as it is (RFC 9110, 15.3.5)."""


def pending(
    request: HttpRequest, company: Company, question: Question[Any], now: datetime
) -> HttpResponse | None:
    """Return what a script is answered meanwhile; None where there is an answer to show, or where
    it is worked out while whoever asks waits: without scripts nobody would come again."""
    if request.headers.get("HX-Request") != "true":
        return None
    if request_answer(question, company=company, now=now):
        return HttpResponse(status=PENDING)
    return None
