"""Days off, extra hours and loans, edited as stretches of days."""

from collections.abc import Sequence
from datetime import date, time
from typing import Any
from uuid import uuid4

import pytest

from finishing.models import Crew, CrewMember, DayOff, ExtraHours, Loan
from finishing.services.crew_days import (
    days_off_of,
    edit_days_off,
    edit_extra_hours,
    edit_loans,
    extra_hours_of,
    loans_of,
)
from finishing.services.day_stretches import StretchLine
from finishing.services.errors import InputFaults
from finishing.services.rows import StaleRowsError
from tests.factories import make_company, make_crew

pytestmark = pytest.mark.django_db


@pytest.fixture
def crew() -> Crew:
    return make_crew(make_company())


def line(first: int, last: int, place: str = "new", **more: Any) -> StretchLine:
    return StretchLine(place, date(2026, 3, first), date(2026, 3, last), **more)


def off(crew: Crew, *days: int, member: CrewMember | None = None, reason: str = "") -> None:
    for day in days:
        DayOff.objects.create(
            company=crew.company, crew=crew, member=member, reason=reason, day=date(2026, 3, day)
        )


def shown(crew: Crew) -> list[tuple[int, int, str]]:
    return [
        (one.first_day.day, one.last_day.day, one.rows[0].reason)
        for one in days_off_of(crew).values()
    ]


def away(reason: str = "", member: CrewMember | None = None) -> dict[str, Any]:
    return {"member": member, "reason": reason}


def places(faults: Sequence[Any]) -> list[str]:
    return [fault.place for fault in faults]


def test_days_that_say_the_same_in_a_row_are_one_stretch(crew: Crew) -> None:
    ana = crew.members.all()[0]
    off(crew, 2, 3, 5, reason="Course")
    off(crew, 4, reason="Fair")
    off(crew, 3, member=ana)
    assert shown(crew) == [(2, 3, "Course"), (3, 3, ""), (4, 4, "Fair"), (5, 5, "Course")]


def test_two_lines_swap_their_days_at_once(crew: Crew) -> None:
    off(crew, 2, reason="Course")
    off(crew, 9, 10, reason="Fair")
    course, fair = days_off_of(crew).values()
    lines = [
        line(9, 9, values=away("Course"), key=course.key, version=course.version),
        line(2, 3, values=away("Fair"), key=fair.key, version=fair.version),
    ]
    edit_days_off(crew=crew, lines=lines)
    assert shown(crew) == [(2, 3, "Fair"), (9, 9, "Course")]


def test_days_that_stay_keep_their_rows(crew: Crew) -> None:
    off(crew, 2, 3, 4, reason="Course")
    (course,) = days_off_of(crew).values()
    longer = line(3, 5, values=away("Course"), key=course.key, version=course.version)
    edit_days_off(crew=crew, lines=[longer])
    kept = DayOff.objects.filter(pk__in=[row.pk for row in course.rows])
    assert [row.day.day for row in kept.order_by("day")] == [3, 4]
    assert shown(crew) == [(3, 5, "Course")]


def test_a_stretch_is_another_once_any_of_its_days_is(crew: Crew) -> None:
    off(crew, 2, 3, 4)
    (seen,) = days_off_of(crew).values()
    DayOff.objects.get(day=date(2026, 3, 4)).delete()
    gone = line(9, 9, values=away(), key=uuid4(), version=1)
    stale = line(2, 4, values=away("Fair"), key=seen.key, version=seen.version)
    with pytest.raises(StaleRowsError) as refused:
        edit_days_off(crew=crew, lines=[stale])
    assert refused.value.rows == (seen.rows[0],)
    with pytest.raises(StaleRowsError) as refused:
        edit_days_off(crew=crew, lines=[gone])
    assert refused.value.gone == 1
    assert shown(crew) == [(2, 3, "")]


def test_all_faults_are_named_and_nothing_is_kept(crew: Crew) -> None:
    ana = crew.members.all()[0]
    off(crew, 2)
    lines = [
        line(1, 2, "a", values=away()),
        line(9, 8, "b", values=away()),
        line(2, 2, "c", values=away(member=ana)),
        StretchLine("d", date(2026, 4, 1), date(2027, 4, 2), away()),
    ]
    with pytest.raises(InputFaults) as refused:
        edit_days_off(crew=crew, lines=lines)
    assert sorted(places(refused.value.faults)) == ["a-first_day", "b-last_day", "d-last_day"]
    assert shown(crew) == [(2, 2, "")]


def test_a_line_that_goes_makes_room_for_one_that_comes(crew: Crew) -> None:
    off(crew, 2, reason="Course")
    (course,) = days_off_of(crew).values()
    goes = line(2, 2, values=away(), key=course.key, version=course.version, remove=True)
    edit_days_off(crew=crew, lines=[goes, line(2, 3, values=away("Fair"))])
    assert shown(crew) == [(2, 3, "Fair")]


def test_extra_hours_of_one_day_may_follow_but_not_overlap(crew: Crew) -> None:
    early = {"start": time(5), "end": time(7)}
    late = {"start": time(16), "end": time(18)}
    edit_extra_hours(crew=crew, lines=[line(2, 3, values=early), line(3, 3, values=late)])
    assert ExtraHours.objects.count() == 3
    assert [one.rows[0].start for one in extra_hours_of(crew).values()] == [time(5), time(16)]
    for hours, place in (
        ({"start": time(6), "end": time(8)}, "new-first_day"),
        ({"start": time(9), "end": time(9)}, "new-end"),
    ):
        with pytest.raises(InputFaults) as refused:
            edit_extra_hours(crew=crew, lines=[line(3, 4, values=hours)])
        assert places(refused.value.faults) == [place]


def test_somebody_is_lent_to_one_crew_a_day_while_a_member(crew: Crew) -> None:
    south, west = (make_crew(crew.company, name) for name in ("South crew", "West crew"))
    ana = crew.members.order_by("pk")[0]
    ana.to_day = date(2026, 3, 6)
    ana.save()
    edit_loans(crew=crew, lines=[line(2, 3, values={"member": ana, "crew": south})])
    (lent,) = loans_of(crew).values()
    to_west = {"member": ana, "crew": west}
    with pytest.raises(InputFaults) as refused:
        edit_loans(crew=crew, lines=[line(3, 9, "a", values=to_west)])
    assert places(refused.value.faults) == ["a-first_day", "a-first_day"]
    moved = line(3, 4, values=to_west, key=lent.key, version=lent.version)
    edit_loans(crew=crew, lines=[moved])
    assert [(row.crew, row.day.day) for row in Loan.objects.all()] == [(west, 3), (west, 4)]
