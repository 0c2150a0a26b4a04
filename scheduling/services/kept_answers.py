"""What takes a moment to work out is worked out once for everybody who looks, and kept until rows
change that it was worked out from.

What takes seconds one at a time in a process: two would only take turns at the interpreter, and
twice the memory.
"""

from collections.abc import Callable, Mapping
from datetime import datetime
from hashlib import sha256
from threading import Lock
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from django.core.cache import cache

from finishing.models import Company
from scheduling.queries.row_state import row_state
from scheduling.services.air_now import air_now
from scheduling.services.house_drying import house_drying
from scheduling.services.kept_costs import find_costs
from scheduling.services.material_orders import late_visits
from scheduling.services.material_told import material_told
from scheduling.services.odds import NothingPlannedError, current_odds
from scheduling.services.since_published import since_published
from scheduling.services.source_histories import TooLittleAirError
from scheduling.services.today import fit_today

AT_MOST_S = 10 * 60
"""By then time itself has changed something: a visit has begun, a forecast hour is over."""
type Question[T] = Callable[..., T]
type Of = tuple[int, ...]
"""Which rows (pk) a question is asked of, where it is not of the whole company."""
OF_COMPANY = (air_now, current_odds, fit_today, late_visits, material_told, since_published)
OF_ROWS = (find_costs, house_drying)
QUESTIONS: Mapping[str, Question[Any]] = {one.__name__: one for one in (*OF_COMPANY, *OF_ROWS)}
"""By name those that others may be asked; each is asked as of now."""
ASKED_AGAIN_AFTER_S, FAILED_FOR_S = 60, 30
_ASKED, _FAILED = "asked", "failed"
_WORKING = Lock()


class NotYetError(Exception):
    """Somebody else is finding the answer: come again for it."""


class _Kept(NamedTuple):
    """What a question has found; as_of: what it was found from (see ``_Place``); refusal: why there
    is no answer, which is kept as well."""

    as_of: str
    answer: Any
    refusal: Exception | None = None


class _Place(NamedTuple):
    """Where an answer is kept, the newest alone, so that there are never more than questions times
    what they are asked of; and what it is to be found from: the state of the rows, and the time.
    flag: where it is noted that somebody is finding it; asked_before: that somebody was asked, and
    has not come to an end since."""

    key: str
    flag: str
    asked_before: str
    as_of: str

    def look(self) -> _Kept | None:
        """Return what is kept here, if it is still so."""
        kept: _Kept | None = cache.get(self.key)
        return kept if kept and kept.as_of == self.as_of else None


def kept_answer[T](question: Question[T], *, company: Company, now: datetime, of: Of = ()) -> T:
    """Return what a question has found a moment ago from the same rows, or finds.

    Raises NothingPlannedError and TooLittleAirError where the question does.
    """
    place = _place(company, question.__name__, now, of)
    answer: T = _told(_found(place, question, company, now, of))
    return answer


def is_kept(question: Question[Any], *, company: Company, now: datetime) -> bool:
    """Return whether ``kept_answer`` would have nothing to find."""
    return _place(company, question.__name__, now).look() is not None


def answer_to_come[T](
    question: Question[T],
    ask: Callable[[int, str, Of, bool], object],
    *,
    company: Company,
    now: datetime,
    of: Of = (),
) -> T:
    """Return what is kept; where nothing is, ``ask`` has somebody else find it, once, and
    NotYetError is raised until they have; its last argument says whether somebody was asked a while
    ago in vain. Where they could not, it is found here: whoever asks is told why not."""
    name = question.__name__
    place = _place(company, name, now, of)
    kept = place.look()
    if kept is None and cache.get(place.flag) != _FAILED:
        if cache.add(place.flag, _ASKED, ASKED_AGAIN_AFTER_S):
            in_vain = not cache.add(place.asked_before, _ASKED, AT_MOST_S)
            ask(company.pk, name, of, in_vain)
        kept = place.look()  # by now somebody may have found it
        if kept is None and cache.get(place.flag) != _FAILED:
            raise NotYetError
    answer: T = _told(kept or _found(place, question, company, now, of))
    return answer


def find_for_others(*, company_id: int, name: str, of: Of, now: datetime) -> None:
    """Find an answer that ``answer_to_come`` asks for, and keep it."""
    company, question = Company.objects.get(pk=company_id), QUESTIONS[name]
    place = _place(company, name, now, of)
    try:
        _found(place, question, company, now, of)
    except BaseException:
        cache.set(place.flag, _FAILED, FAILED_FOR_S)
        raise
    finally:
        cache.delete(place.asked_before)
    cache.delete(place.flag)


def _found(
    place: _Place, question: Question[Any], company: Company, now: datetime, of: Of
) -> _Kept:
    """Return what is kept in a place, or find it and keep it."""
    kept = place.look()
    if kept is None:
        with _WORKING:
            kept = place.look()  # whoever was here before may have asked the same
            if kept is None:
                kept = _asked(question, place.as_of, company, now, of)
                cache.set(place.key, kept, AT_MOST_S)
    return kept


def _asked(question: Question[Any], as_of: str, company: Company, now: datetime, of: Of) -> _Kept:
    rows = {"of": of} if of else {}
    try:
        return _Kept(as_of, question(company=company, now=now, **rows))
    except (NothingPlannedError, TooLittleAirError) as refusal:
        return _Kept(as_of, None, refusal)


def _told(kept: _Kept) -> Any:
    if kept.refusal:
        raise kept.refusal
    return kept.answer


def _place(company: Company, name: str, now: datetime, of: Of = ()) -> _Place:
    """A slot of time, so that no answer is older than that; and no answer is another company's, or
    of another of its days, which in some zones begin amid a slot."""
    today = now.astimezone(ZoneInfo(company.zone)).date()
    slot = int(now.timestamp() // AT_MOST_S)
    state = sha256(row_state(company).encode()).hexdigest()
    asked = ":".join([str(company.public_id), name, *map(str, of)])
    keys = f"kept:{asked}", f"asked:{asked}", f"asked_before:{asked}"
    return _Place(*keys, as_of=f"{slot}:{today}:{state}")
