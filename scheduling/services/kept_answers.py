"""What takes a moment to work out is worked out once for everybody who looks, and kept until rows
change that it was worked out from.

One at a time in a process: two would only take turns at the interpreter, and twice the memory.
"""

from collections.abc import Callable, Mapping
from datetime import datetime
from hashlib import sha256
from threading import Lock
from typing import Any, NamedTuple

from django.core.cache import cache

from finishing.models import Company
from scheduling.queries.row_state import row_state
from scheduling.services.air_now import air_now
from scheduling.services.odds import NothingPlannedError, current_odds
from scheduling.services.since_published import since_published
from scheduling.services.source_histories import TooLittleAirError
from scheduling.services.today import fit_today

AT_MOST_S = 10 * 60
"""By then time itself has changed something: a visit has begun, a forecast hour is over."""
type Question[T] = Callable[..., T]
QUESTIONS: Mapping[str, Question[Any]] = {
    question.__name__: question for question in (air_now, current_odds, fit_today, since_published)
}
"""By name; each is asked of a company, as of now."""
ASKED_AGAIN_AFTER_S, FAILED_FOR_S = 60, 30
_ASKED, _FAILED = "asked", "failed"
_WORKING = Lock()


class NotYetError(Exception):
    """Somebody else is finding the answer: come again for it."""


class _Kept(NamedTuple):
    """What a question has found; refusal: why there is no answer, which is kept as well."""

    answer: Any
    refusal: Exception | None = None


def kept_answer[T](question: Question[T], *, company: Company, now: datetime) -> T:
    """Return what a question has found a moment ago from the same rows, or finds.

    Raises NothingPlannedError and TooLittleAirError where the question does.
    """
    answer: T = _told(_found(_key(company, question.__name__, now), question, company, now))
    return answer


def is_kept(question: Question[Any], *, company: Company, now: datetime) -> bool:
    """Return whether ``kept_answer`` would have nothing to find."""
    return cache.get(_key(company, question.__name__, now)) is not None


def answer_to_come[T](
    question: Question[T], ask: Callable[[int, str], object], *, company: Company, now: datetime
) -> T:
    """Return what is kept; where nothing is, ``ask`` has somebody else find it, once, and
    NotYetError is raised until they have. Where they could not, it is found here: whoever asks is
    told why not."""
    name = question.__name__
    key, flag = _key(company, name, now), _flag(company, name)
    kept = cache.get(key)
    if kept is None and cache.get(flag) != _FAILED:
        if cache.add(flag, _ASKED, ASKED_AGAIN_AFTER_S):
            ask(company.pk, name)
        kept = cache.get(key)  # by now somebody may have found it
        if kept is None and cache.get(flag) != _FAILED:
            raise NotYetError
    answer: T = _told(kept or _found(key, question, company, now))
    return answer


def find_for_others(*, company_id: int, name: str, now: datetime) -> None:
    """Find an answer that ``answer_to_come`` asks for, and keep it."""
    company, question = Company.objects.get(pk=company_id), QUESTIONS[name]
    flag = _flag(company, name)
    try:
        _found(_key(company, name, now), question, company, now)
    except BaseException:
        cache.set(flag, _FAILED, FAILED_FOR_S)
        raise
    cache.delete(flag)


def _found(key: str, question: Question[Any], company: Company, now: datetime) -> _Kept:
    """Return what is kept under a key, or find it and keep it."""
    kept: _Kept | None = cache.get(key)
    if kept is None:
        with _WORKING:
            kept = cache.get(key)  # whoever was here before may have asked the same
            if kept is None:
                kept = _asked(question, company, now)
                cache.set(key, kept, AT_MOST_S)
    return kept


def _asked(question: Question[Any], company: Company, now: datetime) -> _Kept:
    try:
        return _Kept(question(company=company, now=now))
    except (NothingPlannedError, TooLittleAirError) as refusal:
        return _Kept(None, refusal)


def _told(kept: _Kept) -> Any:
    if kept.refusal:
        raise kept.refusal
    return kept.answer


def _flag(company: Company, name: str) -> str:
    return f"asked:{company.public_id}:{name}"


def _key(company: Company, name: str, now: datetime) -> str:
    """A slot of time, so that no answer is older than that; and no answer is another company's."""
    slot = int(now.timestamp() // AT_MOST_S)
    state = sha256(row_state(company).encode()).hexdigest()
    return f"kept:{company.public_id}:{name}:{slot}:{state}"
