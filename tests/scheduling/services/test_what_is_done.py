"""Planning again when work is behind, under way, changed or entered by hand."""

from datetime import timedelta

import pytest

from finishing.models import Area, CoatDone, Compound, House, Room, Surface
from finishing.rules.vocabulary import Stage
from scheduling.models import Visit
from scheduling.services.inputs import build_inputs, done_so_far
from scheduling.services.publish import publish_plan
from tests.factories import local
from tests.plans import first_plan, plan_from, published_from, task_of
from tests.sites import FLATS_AND_CORNERS, MONDAY, add_joints, make_site

pytestmark = pytest.mark.django_db(transaction=True)

DRYING = "All-purpose drying"


def add_room(house: House, name: str, *, position: int, area: Area | None = None) -> Room:
    area = area or house.areas.earliest("pk")
    room = Room.objects.create(company=house.company, area=area, name=name, position=position)
    surface = Surface.objects.create(
        company=house.company, room=room, part="walls", family="GA-214", level="4",
        takeoff="measured", area_m2=40, fasteners=300,
    )  # fmt: skip
    add_joints(surface, FLATS_AND_CORNERS)
    return room


def test_publishing_within_a_visit_keeps_what_is_done_in_it() -> None:
    company, _ = make_site(rooms=("A", "B", "C", "D"), system=DRYING)
    first = published_from(company, MONDAY)
    tape_a = task_of(first, Stage.TAPE, "A")
    during = task_of(first, Stage.TAPE, "B").starts_at
    published_from(company, during)
    third = plan_from(company, local("2026-03-02 16:00"))
    assert tape_a.key not in set(third.tasks.values_list("key", flat=True))
    visit = Visit.objects.earliest("starts_at")
    assert tape_a.key in {row["key"] for row in visit.content["tasks"]}


def test_visit_that_no_plan_goes_on_with_keeps_only_what_has_begun() -> None:
    company, house = make_site(rooms=("A", "B"), system=DRYING)
    first = published_from(company, MONDAY)
    during = task_of(first, Stage.TAPE, "B").starts_at - timedelta(minutes=5)
    House.objects.filter(pk=house.pk).update(is_active=False)
    published_from(company, during)
    visit = Visit.objects.earliest("starts_at")
    assert [row["room"] for row in visit.content["tasks"]] == ["A"]
    assert visit.cancelled_at is None
    assert visit.sequence == 1


def test_room_added_ahead_of_frozen_work_frees_it_instead_of_failing() -> None:
    company, house = make_site(rooms=("B", "C"), system=DRYING)
    published_from(company, MONDAY)
    room = add_room(house, "A", position=0)
    Room.objects.filter(name__in=["B", "C"]).update(position=1)
    plan = plan_from(company, local("2026-03-02 06:00"))
    assert plan.tasks.filter(key=f"{room.public_id}:tape").exists()


def test_no_sanding_beside_a_coat_of_another_area_that_is_already_done() -> None:
    company, house = make_site(rooms=("A",), system=DRYING, humidity=0.85)
    wing = Area.objects.create(company=company, house=house, name="Wing", floor="G")
    add_room(house, "B", position=0, area=wing)
    house.areas.update(floor="G")
    CoatDone.objects.create(
        company=company,
        area=house.areas.earliest("pk"),
        stage=Stage.FINISH,
        ended_at=local("2026-03-01 18:00"),
    )
    CoatDone.objects.create(
        company=company, area=wing, stage=Stage.FINISH, ended_at=local("2026-02-20 18:00")
    )
    plan = plan_from(company, MONDAY)
    # Own coat of A cannot be dry before Tuesday at 20 C and 85 %: sanding B waits for it too.
    assert task_of(plan, Stage.SAND, "B").starts_at > local("2026-03-03 07:00")


def test_compound_of_the_entered_coat_decides_its_wait() -> None:
    company, house = make_site()  # the system's own second coat would set in two hours
    CoatDone.objects.create(
        company=company,
        area=house.areas.get(),
        stage=Stage.SECOND,
        compound=Compound.objects.get(company=company, name="All-purpose, drying"),
        ended_at=local("2026-03-02 06:00"),
    )
    plan = plan_from(company, MONDAY + timedelta(hours=6))
    # Common practice, no published source: at least 24 hours after a drying coat.
    assert task_of(plan, Stage.FINISH).starts_at >= local("2026-03-03 06:00")


def test_takeoff_grown_while_the_first_part_is_under_way_loses_no_hours() -> None:
    company, house = make_site(system=DRYING)
    first = published_from(company, MONDAY)
    begun = task_of(first, Stage.TAPE)
    line = Surface.objects.get(room__area__house=house).joints.get(kind="tapered")
    line.metres = 900.0
    line.save()
    moment = begun.starts_at + timedelta(minutes=5)
    needed = next(
        stage.person_minutes
        for stage in build_inputs(company=company, now=moment).stages.values()
        if stage.stage == Stage.TAPE
    )
    parts = [task for task in plan_from(company, moment).tasks.all() if task.stage == Stage.TAPE]
    assert sum(task.details["person_minutes"] for task in parts) == needed
    under_way = next(task for task in parts if task.key == begun.key)
    assert (under_way.starts_at, under_way.ends_at) == (begun.starts_at, begun.ends_at)
    assert under_way.details["person_minutes"] == begun.details["person_minutes"]


def test_coat_entered_for_a_whole_area_wins_over_a_part_done() -> None:
    company, house = make_site(system=DRYING)
    line = Surface.objects.get(room__area__house=house).joints.get(kind="tapered")
    line.metres = 900.0
    line.save()
    published_from(company, MONDAY)
    CoatDone.objects.create(
        company=company,
        area=house.areas.get(),
        stage=Stage.TAPE,
        ended_at=local("2026-03-02 16:00"),
    )
    plan = plan_from(company, local("2026-03-02 17:00"))
    assert not plan.tasks.filter(stage=Stage.TAPE).exists()


def test_what_is_past_in_a_house_that_is_over_is_not_looked_at_until_it_is_planned_again() -> None:
    company, house = make_site(rooms=("A",), system=DRYING)
    first_plan(company)
    publish_plan(company=company, now=MONDAY)
    later = MONDAY + timedelta(days=2)
    begun = Visit.objects.filter(starts_at__lt=later).count()
    assert 0 < begun < Visit.objects.count()
    open_then = done_so_far(company=company, now=later)
    House.objects.filter(pk=house.pk).update(is_active=False)
    over = done_so_far(company=company, now=later)
    assert (bool(open_then.unreported), over.unreported) == (True, [])
    assert over.to_come == open_then.to_come != {}
    House.objects.filter(pk=house.pk).update(is_active=True)
    assert done_so_far(company=company, now=later) == open_then


def test_house_without_work_left_is_all_done() -> None:
    company, house = make_site()
    CoatDone.objects.create(
        company=company,
        area=house.areas.get(),
        stage=Stage.INSPECT,
        ended_at=local("2026-02-27 15:00"),
    )
    plan = plan_from(company, MONDAY)
    assert [row["state"] for row in plan.handovers] == ["done"]
    assert plan.holds == []


def test_replan_without_a_change_changes_no_published_visit_within_the_freeze() -> None:
    company, _ = make_site(rooms=("A", "B"), system=DRYING)
    published_from(company, MONDAY)
    before = {visit.uid: visit.sequence for visit in Visit.objects.all()}
    published_from(company, local("2026-03-02 17:00"))
    near = Visit.objects.filter(starts_at__lt=local("2026-03-04 00:00"))
    assert {visit.uid: visit.sequence for visit in near} == {
        visit.uid: before[visit.uid] for visit in near
    }
