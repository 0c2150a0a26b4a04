"""The hours of a crew's week, day by day."""

from datetime import time

import pytest

from finishing.models import Crew, CrewHours
from finishing.rules.hours import WeeklyWindow
from finishing.services.crew_week import DayHours, edit_week
from finishing.services.rows import StaleRowsError, version_of
from tests.factories import make_company, make_crew

pytestmark = pytest.mark.django_db

MORNING, AFTERNOON = WeeklyWindow(0, time(7), time(12)), WeeklyWindow(0, time(13), time(16))


@pytest.fixture
def crew() -> Crew:
    return make_crew(make_company())


def monday(crew: Crew) -> list[CrewHours]:
    return list(CrewHours.objects.filter(crew=crew, weekday=0))


def test_a_day_gets_a_break_and_the_others_stay(crew: Crew) -> None:
    seen = version_of(monday(crew))
    edit_week(crew=crew, days=[DayHours(0, (MORNING, AFTERNOON), seen)])
    assert [(row.start, row.end) for row in monday(crew)] == [
        (time(7), time(12)),
        (time(13), time(16)),
    ]
    assert crew.hours.count() == 6


def test_a_day_that_has_other_hours_by_now_is_refused(crew: Crew) -> None:
    seen = version_of(monday(crew))
    edit_week(crew=crew, days=[DayHours(0, (MORNING,), seen)])
    with pytest.raises(StaleRowsError) as refused:
        edit_week(crew=crew, days=[DayHours(0, (AFTERNOON,), seen)])
    assert refused.value.rows == tuple(monday(crew))
    edit_week(crew=crew, days=[DayHours(0, (MORNING,), seen)])  # as it is: nothing to refuse


def test_a_day_that_has_no_hours_any_more_is_refused_too(crew: Crew) -> None:
    seen = version_of(monday(crew))
    CrewHours.objects.filter(crew=crew, weekday=0).delete()
    with pytest.raises(StaleRowsError) as refused:
        edit_week(crew=crew, days=[DayHours(0, (AFTERNOON,), seen)])
    assert refused.value.gone == 1
