"""Publish a plan, change one thing, plan again: what moves, what stays, and why.

Drying compound throughout: at least 24 hours between coats and before sanding (common practice,
no published source). The crews work from 7:00 to 15:30 with 15 minutes to set up and to wash up.
"""

from datetime import date, time, timedelta
from typing import Any

import numpy as np
import pytest

from finishing.models import (
    AirDay,
    Closure,
    Company,
    Crew,
    CrewMember,
    House,
    ReadinessLine,
)
from finishing.rules.drying import STAGE_THICKNESS_MM, dry_at, progress, thickness_amount
from finishing.rules.vocabulary import Stage
from finishing.services.staffing import (
    add_extra_hours,
    end_extra_hours,
    lend_member,
    mark_away,
)
from scheduling.models import Plan, Visit
from scheduling.services.inputs import build_inputs
from tests.factories import local, make_crew, make_house
from tests.plans import broken_rules, freed, moved, places, plan_from, published_from, task_of
from tests.sites import FLATS_AND_CORNERS, MONDAY, add_joints, company_system, make_site, utc

pytestmark = pytest.mark.django_db(transaction=True)

DRYING = "All-purpose drying"
MONDAY_NOON = local("2026-03-02 12:00")
MONDAY_EVENING = local("2026-03-02 16:00")


def published_site(**fields: Any) -> tuple[Company, House, Plan]:
    """One house of one room, in drying compound, in 20 C and 50 %; its plan is published. The
    room is taped on Monday, coated on Tuesday and Wednesday, sanded on Thursday."""
    company, house = make_site(system=DRYING, **fields)
    return company, house, published_from(company, MONDAY)


def add_house(company: Company, name: str, **fields: Any) -> House:
    house = make_house(company, name, system=company_system(company, DRYING), **fields)
    for area in house.areas.all():
        for room in area.rooms.all():
            surface = room.surfaces.get()
            surface.area_m2 = 40.0
            surface.save()
            add_joints(surface, FLATS_AND_CORNERS)
    return house


def stage_days(plan: Plan, house: House) -> dict[str, date]:
    return {task.stage: task.starts_at.date() for task in plan.tasks.filter(house=house)}


def test_the_plan_that_the_other_tests_change() -> None:
    _, house, plan = published_site()
    assert stage_days(plan, house) == {
        "tape": date(2026, 3, 2),
        "second": date(2026, 3, 3),
        "finish": date(2026, 3, 4),
        "sand": date(2026, 3, 5),
        "inspect": date(2026, 3, 5),
    }


def test_nothing_changed_moves_nothing() -> None:
    company, _, first = published_site()
    again = plan_from(company, MONDAY_EVENING)
    assert moved(first, again) == set()
    assert broken_rules(again) == []


def test_humid_week_moves_each_coat_to_when_the_law_says_it_may_follow() -> None:
    company, _, first = published_site()
    AirDay.objects.filter(day__gte=date(2026, 3, 2)).update(
        humidity=[0.9] * 24, temperature_c=[14.0] * 24
    )
    again = plan_from(company, MONDAY_EVENING)
    assert broken_rules(again) == []
    tape = task_of(first, Stage.TAPE)
    coats = [(tape.ends_at, Stage.TAPE, Stage.SECOND)]
    for stage, after in ((Stage.SECOND, Stage.FINISH), (Stage.FINISH, Stage.SAND)):
        coats.append((task_of(again, stage).ends_at, stage, after))
    # The check stands on the law and the hours typed above alone.
    monday = utc("2026-03-02 00:00")
    air = progress(np.full(24 * 40, 14.0), np.full(24 * 40, 0.9))
    for ended, stage, after in coats:
        amount = thickness_amount(STAGE_THICKNESS_MM[stage])
        hours = float(dry_at(air, np.array([(ended - monday) / timedelta(hours=1)]), amount)[0])
        dry = monday + timedelta(hours=hours)
        assert task_of(again, after).starts_at >= max(dry, ended + timedelta(hours=24))
    # 14 C and 90 %: the law gives 110 hours for the tape coat; until Saturday the 7th.
    assert task_of(again, Stage.SECOND).starts_at == local("2026-03-09 07:15")
    assert set(freed(again)) == {task_of(first, Stage.SECOND).key}


def test_crew_ill_for_a_day_moves_its_work_and_leaves_the_other_crews() -> None:
    company, house, _ = published_site()
    south = make_crew(company, "South crew")
    other = add_house(company, "Larch Row")
    first = published_from(company, local("2026-03-02 00:30"))
    ill = first.tasks.filter(house=other).earliest("starts_at").crew
    mark_away(crew=ill, member=None, days=[date(2026, 3, 3)], reason="ill")
    again = plan_from(company, MONDAY_EVENING)
    assert broken_rules(again) == []
    on_tuesday = {
        row.key for row in first.tasks.filter(crew=ill) if row.starts_at.date() == date(2026, 3, 3)
    }
    assert on_tuesday
    assert set(freed(again)) == on_tuesday
    assert not again.tasks.filter(crew=ill, starts_at__date=date(2026, 3, 3)).exists()
    assert {south, Crew.objects.get(name="North crew")} > {ill}
    well = [row.key for row in first.tasks.exclude(crew=ill) if row.starts_at.day == 3]
    assert not moved(first, again) & set(well)
    assert house.pk != other.pk


def test_member_ill_makes_the_same_work_take_twice_as_long() -> None:
    company, _, first = published_site()
    crew = Crew.objects.get()
    one, _ = crew.members.all()
    mark_away(crew=crew, member=one, days=[date(2026, 3, 4)], reason="ill")
    again = plan_from(company, MONDAY_EVENING)
    assert broken_rules(again) == []
    before, now = task_of(first, Stage.FINISH), task_of(again, Stage.FINISH)
    work = timedelta(minutes=now.details["person_minutes"])
    assert now.starts_at.date() == date(2026, 3, 4)
    # The same work by two and by one, up to the whole ticks of five minutes.
    tick = timedelta(minutes=5)
    assert timedelta() <= before.ends_at - before.starts_at - work / 2 < tick
    assert timedelta() <= now.ends_at - now.starts_at - work < tick
    stages_after = (Stage.FINISH, Stage.SAND, Stage.INSPECT)
    assert moved(first, again) <= {task_of(again, stage).key for stage in stages_after}
    assert freed(again) == {}


def test_house_released_late_has_nothing_before_its_day() -> None:
    company, house, first = published_site()
    house.opens_on = date(2026, 3, 9)
    house.save()
    again = plan_from(company, local("2026-03-02 06:00"))
    assert again.tasks.earliest("starts_at").starts_at == local("2026-03-09 07:15")
    assert moved(first, again) == set(places(first))
    # What lay inside the freeze, today and tomorrow, is released and named.
    assert set(freed(again)) == {task_of(first, s).key for s in (Stage.TAPE, Stage.SECOND)}
    assert broken_rules(again) == []


def test_house_that_is_not_ready_waits_for_the_morning_after_the_day_promised() -> None:
    company, house, _ = published_site()
    ReadinessLine.objects.create(
        company=company, house=house, item="heat", expected_on=date(2026, 3, 11)
    )
    again = plan_from(company, local("2026-03-02 06:00"))
    assert again.tasks.earliest("starts_at").starts_at == local("2026-03-12 07:15")
    assert broken_rules(again) == []


def test_house_without_a_day_calls_off_its_visits_and_that_is_shown() -> None:
    company, house, first = published_site()
    ReadinessLine.objects.create(company=company, house=house, item="heat")
    again = plan_from(company, local("2026-03-02 06:00"))
    days = {row.starts_at.date() for row in first.tasks.all()}
    assert again.change["dropped"] == len(days)
    assert [move["to"] for move in again.change["moves"]] == [[]] * len(days)
    assert {hold["code"] for hold in again.holds} == {"not_ready"}


def test_extra_day_is_worked_only_where_it_saves_more_than_it_costs() -> None:
    """Tape on Monday, then a coat a day: sanding on Thursday. Away on Wednesday and Thursday, the
    crew finishes the room on Friday and sands it on Monday, or on an extra Saturday."""
    company, house = make_site(system=DRYING, handover_on=date(2026, 3, 5))
    crew = Crew.objects.get()
    mark_away(crew=crew, member=None, days=[date(2026, 3, 4), date(2026, 3, 5)])
    (extra,) = add_extra_hours(crew=crew, days=[date(2026, 3, 7)])
    assert (extra.start, extra.end) == (time(7), time(15, 30))
    assert stage_days(plan_from(company, work=60), house)["sand"] == date(2026, 3, 7)
    company.extra_hour_price = 32_000
    company.save()
    assert stage_days(plan_from(company, work=60), house)["sand"] == date(2026, 3, 9)


def test_overtime_is_an_hour_more_at_a_price_and_only_what_is_not_worked_anyway() -> None:
    company, _, _ = published_site()
    crew, tuesday = Crew.objects.get(), date(2026, 3, 3)
    (hour,) = add_extra_hours(crew=crew, days=[tuesday])
    assert (hour.start, hour.end) == (time(15, 30), time(16, 30))
    add_extra_hours(crew=crew, days=[tuesday], hours=(time(6), time(8)))
    inputs = build_inputs(company=company, now=MONDAY)
    (solver_crew,) = inputs.problem.crews
    instant = inputs.timeline.instant
    windows = [
        (instant(w.start), instant(w.end), w.price)
        for w in solver_crew.windows
        if instant(w.start).date() == tuesday
    ]
    # 240 late minutes an hour are 20 for each of its twelve ticks of five minutes.
    assert windows == [
        (local("2026-03-03 06:00"), local("2026-03-03 07:00"), 20),
        (local("2026-03-03 07:00"), local("2026-03-03 15:30"), 0),
        (local("2026-03-03 15:30"), local("2026-03-03 16:30"), 20),
    ]
    assert end_extra_hours(crew=crew, days=[tuesday]) == 2


def test_area_closed_by_others_moves_what_falls_on_those_days_and_no_more() -> None:
    company, house, first = published_site()
    Closure.objects.create(
        company=company,
        area=house.areas.get(),
        first_day=date(2026, 3, 4),
        last_day=date(2026, 3, 5),
    )
    again = plan_from(company, MONDAY_EVENING)
    assert stage_days(again, house)["finish"] == date(2026, 3, 6)
    assert task_of(first, Stage.SECOND).key not in moved(first, again)
    assert freed(again) == {}
    assert broken_rules(again) == []


def test_new_house_takes_the_free_hours_and_moves_nothing_inside_the_freeze() -> None:
    company, house, first = published_site()
    new = add_house(company, "Larch Row", handover_on=date(2026, 3, 10))
    again = plan_from(company, MONDAY_NOON)
    assert again.tasks.filter(house=new).count() == 5
    assert task_of(first, Stage.SECOND).key not in moved(first, again)
    assert freed(again) == {}
    assert broken_rules(again) == []
    assert house.pk != new.pk


def test_changed_handover_changes_which_house_comes_first() -> None:
    company, house, _ = published_site(handover_on=date(2026, 3, 9))
    other = add_house(company, "Larch Row", rooms=("A", "B", "C", "D"))
    published_from(company, local("2026-03-02 00:30"))
    House.objects.filter(pk=house.pk).update(handover_on=date(2026, 4, 30))
    House.objects.filter(pk=other.pk).update(handover_on=date(2026, 3, 6))
    again = plan_from(company, local("2026-03-02 16:00"))
    due = {row["house"]: row["due_on"] for row in again.handovers}
    assert due == {"Mill Cottage": "2026-04-30", "Larch Row": "2026-03-06"}
    assert [row["late_minutes"] for row in again.handovers] == [0, 0]
    assert freed(again) == {}
    assert broken_rules(again) == []


def test_lent_member_makes_one_crew_quicker_and_the_other_slower_for_that_day() -> None:
    company, _, _ = published_site()
    south = make_crew(company, "South crew", heads=1)
    CrewMember.objects.filter(crew=south).update(skills=["coating"])
    lend_member(company=company, name="North crew 1", crew=south, days=[date(2026, 3, 4)])
    inputs = build_inputs(company=company, now=MONDAY)
    crews = {inputs.crews[crew.id].name: crew for crew in inputs.problem.crews}
    wednesday = inputs.timeline.tick_after(local("2026-03-04 07:00"))
    there = {
        name: next(w for w in crew.windows if w.start == wednesday) for name, crew in crews.items()
    }
    assert {name: window.heads for name, window in there.items()} == {
        "North crew": 1,
        "South crew": 2,
    }
    # The skills come along for that day, and are missing on every other.
    assert "sanding" not in there["South crew"].lacks
    others = [w for w in crews["South crew"].windows if w.start != wednesday]
    assert all("sanding" in window.lacks for window in others)
    assert broken_rules(plan_from(company, MONDAY_EVENING)) == []


def test_lent_member_finishes_frozen_work_late_so_that_it_is_planned_anew() -> None:
    company, _, first = published_site()
    second = task_of(first, Stage.SECOND)
    south = make_crew(company, "South crew")
    lend_member(company=company, name="North crew 1", crew=south, days=[date(2026, 3, 3)])
    again = plan_from(company, MONDAY_EVENING)
    assert freed(again) == {second.key: "duration"}
    assert broken_rules(again) == []
    assert Visit.objects.exists()
