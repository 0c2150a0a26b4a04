"""Lost days, worked by hand on a calendar, and what holds for any."""

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from finishing.rules.lost_days import Cause, Held, lost_days

MONDAY = date(2026, 3, 2)
WEEKDAYS = frozenset(day for n in range(60) if (day := MONDAY + timedelta(days=n)).weekday() < 5)


def nth(number: int) -> date:
    return MONDAY + timedelta(days=number)


def test_a_week_by_hand() -> None:
    """Work on Monday and on Thursday of the next week. Tuesday a coat dried; Wednesday and
    Thursday the house was locked, and it dried as well; weekends are none."""
    held = [Held(Cause.DRYING, nth(0), nth(3)), Held(Cause.OTHERS, nth(2), nth(3))]
    found = lost_days(worked={nth(0), nth(10)}, working=WEEKDAYS, held=held)
    assert found == {
        nth(1): Cause.DRYING,
        nth(2): Cause.OTHERS,
        nth(3): Cause.OTHERS,
        nth(4): Cause.ELSEWHERE,
        nth(7): Cause.ELSEWHERE,
        nth(8): Cause.ELSEWHERE,
        nth(9): Cause.ELSEWHERE,
    }


def test_before_the_first_and_after_the_last_visit_nothing_is_lost() -> None:
    held = [Held(Cause.OTHERS, nth(0), nth(30))]
    assert lost_days(worked={nth(3)}, working=WEEKDAYS, held=held) == {}
    assert lost_days(worked=set(), working=WEEKDAYS, held=held) == {}


def test_a_stretch_that_ends_before_it_begins_is_none() -> None:
    held = [Held(Cause.OTHERS, nth(2), nth(1))]
    found = lost_days(worked={nth(0), nth(3)}, working=WEEKDAYS, held=held)
    assert set(found.values()) == {Cause.ELSEWHERE}


days = st.integers(0, 40).map(nth)
stretches = st.builds(Held, st.sampled_from(Cause), days, days)


@given(st.sets(days, max_size=12), st.lists(stretches, max_size=6))
def test_worked_lost_and_idle_days_are_all_days(worked: set[date], held: list[Held]) -> None:
    """No day is lost twice or both worked and lost, and none is left over in between."""
    found = lost_days(worked=worked, working=WEEKDAYS, held=held)
    assert not worked & found.keys()
    if worked:
        between = {one for one in WEEKDAYS if min(worked) <= one <= max(worked)}
        assert found.keys() == between - worked


@given(st.sets(days, min_size=2, max_size=12), st.lists(stretches, max_size=6), stretches)
def test_another_stretch_loses_no_day_more(worked: set[date], held: list[Held], more: Held) -> None:
    one = lost_days(worked=worked, working=WEEKDAYS, held=held)
    other = lost_days(worked=worked, working=WEEKDAYS, held=[*held, more])
    assert one.keys() == other.keys()
