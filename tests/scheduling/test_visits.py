"""A plan's tasks as visits."""

import pytest

from scheduling.queries.visits import plan_blocks
from tests.factories import local, make_company, make_crew, make_house, make_plan, task

pytestmark = pytest.mark.django_db

ROOMS = ("Hall", "Kitchen", "Landing")


def test_hours_on_site_include_set_up_and_wash_up() -> None:
    company = make_company(setup_minutes=15, washup_minutes=10)
    crew, house = make_crew(company), make_house(company, rooms=ROOMS)
    plan = make_plan(company, [task(crew, house, "2026-03-02 07:15", minutes=60)])
    (block,) = plan_blocks(plan)
    assert (block.starts_at, block.ends_at) == (
        local("2026-03-02 07:00"),
        local("2026-03-02 08:25"),
    )


def test_pause_too_short_to_wash_up_and_set_up_in_leaves_the_work_hours() -> None:
    company = make_company(setup_minutes=30, washup_minutes=30)
    crew, house = make_crew(company), make_house(company, rooms=ROOMS)
    plan = make_plan(
        company,
        [
            task(crew, house, "2026-03-02 08:00", minutes=60, room="Hall"),
            task(crew, house, "2026-03-02 09:40", minutes=60, room="Kitchen"),
        ],
    )
    first, second = plan_blocks(plan)
    assert (first.starts_at, first.ends_at) == (
        local("2026-03-02 07:30"),
        local("2026-03-02 09:00"),
    )
    assert (second.starts_at, second.ends_at) == (
        local("2026-03-02 09:40"),
        local("2026-03-02 11:10"),
    )


def test_pause_shorter_than_half_an_hour_does_not_end_a_visit() -> None:
    company = make_company()
    crew, house = make_crew(company), make_house(company, rooms=ROOMS)
    plan = make_plan(
        company,
        [
            task(crew, house, "2026-03-02 08:00", minutes=60, room="Hall"),
            task(crew, house, "2026-03-02 09:25", minutes=60, room="Kitchen"),
            task(crew, house, "2026-03-02 10:55", minutes=60, room="Landing"),
        ],
    )
    assert [len(block.tasks) for block in plan_blocks(plan)] == [2, 1]


def test_days_houses_and_crews_end_visits() -> None:
    company = make_company()
    north, south = make_crew(company, "North"), make_crew(company, "South")
    mill, barn = make_house(company, rooms=ROOMS), make_house(company, "Barn", rooms=ROOMS)
    plan = make_plan(
        company,
        [
            task(north, mill, "2026-03-02 08:00", room="Hall"),
            task(north, barn, "2026-03-02 10:00", room="Hall"),
            task(north, barn, "2026-03-03 08:00", room="Kitchen"),
            task(south, mill, "2026-03-02 10:00", room="Kitchen"),
        ],
    )
    seen = [(block.crew.name, block.house.name) for block in plan_blocks(plan)]
    assert seen == [
        ("North", "Mill Cottage"),
        ("North", "Barn"),
        ("North", "Barn"),
        ("South", "Mill Cottage"),
    ]


def test_tasks_share_the_object_of_their_crew_house_and_company() -> None:
    company = make_company()
    crew, house = make_crew(company), make_house(company, rooms=ROOMS)
    works = [
        task(crew, house, f"2026-03-0{day} 08:00", room=room)
        for day, room in enumerate(ROOMS, start=2)
    ]
    blocks = plan_blocks(make_plan(company, works))
    tasks = [task for block in blocks for task in block.tasks]
    assert len(tasks) == len(ROOMS)
    shared = {(id(row.crew), id(row.crew.company), id(row.house), id(row.area)) for row in tasks}
    assert len(shared) == 1
