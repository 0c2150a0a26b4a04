"""What takes a moment to work out is worked out once for everybody who looks, and kept until rows
change that it was worked out from.

One at a time in a process: two would only take turns at the interpreter, and twice the memory.
"""

from collections.abc import Callable, Mapping
from datetime import datetime
from hashlib import sha256
from threading import Lock
from typing import Any

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


def kept_answer[T](question: Question[T], *, company: Company, now: datetime) -> T:
    """Return what a question has found a moment ago from the same rows, or finds."""
    key = _key(question, company, now)
    if (kept := cache.get(key)) is None:
        with _WORKING:
            if (kept := cache.get(key)) is None:  # whoever was here before may have asked the same
                kept = (question(company=company, now=now),)
                cache.set(key, kept, AT_MOST_S)
    found: T = kept[0]
    return found


def is_to_come(
    question: Question[Any], ask: Callable[[int, str], object], *, company: Company, now: datetime
) -> bool:
    """Return whether somebody else has yet to find an answer; ``ask`` has them do so, once. False
    also where they could not: then whoever wants to know has to find it, and is told why not."""
    flag = _flag(company, question.__name__)
    if cache.has_key(_key(question, company, now)) or cache.get(flag) == _FAILED:
        return False
    if cache.add(flag, _ASKED, ASKED_AGAIN_AFTER_S):
        ask(company.pk, question.__name__)
    return True


def find_for_others(*, company_id: int, name: str, now: datetime) -> None:
    """Find an answer that ``is_to_come`` asks for, and keep it."""
    company = Company.objects.get(pk=company_id)
    flag = _flag(company, name)
    try:
        kept_answer(QUESTIONS[name], company=company, now=now)
    except (NothingPlannedError, TooLittleAirError):  # the page says which
        cache.set(flag, _FAILED, FAILED_FOR_S)
    except BaseException:
        cache.set(flag, _FAILED, FAILED_FOR_S)
        raise
    else:
        cache.delete(flag)


def _flag(company: Company, name: str) -> str:
    return f"asked:{company.public_id}:{name}"


def _key(question: Question[Any], company: Company, now: datetime) -> str:
    """A slot of time, so that no answer is older than that; and no answer is another company's."""
    slot = int(now.timestamp() // AT_MOST_S)
    state = sha256(row_state(company).encode()).hexdigest()
    return f"kept:{company.public_id}:{question.__name__}:{slot}:{state}"
