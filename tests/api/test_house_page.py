"""The house page and the list of houses."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from finishing.models import Area, Closure, CoatDone, House, JointLine, ReadinessLine, Room, Surface
from finishing.rules.vocabulary import JointKind, Readiness, Stage
from scheduling.models import PlannedTask
from tests.api.conftest import SignIn
from tests.factories import make_company, make_crew, make_house, make_plan, task

pytestmark = pytest.mark.django_db


def house_text(client: Client, house: House) -> str:
    response = client.get(f"/houses/{house.public_id}/")
    assert response.status_code == 200
    return " ".join(response.content.decode().split())


def test_takeoff_shows_level_way_metres_and_flags(sign_in: SignIn) -> None:
    company = make_company()
    house = make_house(company, rooms=("Hall",))
    walls = Surface.objects.get(room__area__house=house)
    Surface.objects.filter(pk=walls.pk).update(
        fasteners=180, area_m2=31.5, critical_light=True, wet_area=True
    )
    JointLine.objects.create(company=company, surface=walls, kind=JointKind.TAPERED, metres=24.3)
    Surface.objects.create(
        company=company,
        room=walls.room,
        part="ceiling",
        family="AS/NZS 2589",
        level="5",
        takeoff="rough",
        area_m2=12,
    )
    text = house_text(sign_in(company), house)
    for part in (
        "Hall, walls",
        "GA-214 level 4",
        "flat joints 24.3 m, fastener heads 180, board 31.5 m²",
    ):
        assert part in text
    assert "critical light, wet area" in text
    assert '<span class="rough">rough, until measured</span>' in text
    assert "AS/NZS 2589 level 5" in text


def test_a_takeoff_from_room_sizes_shows_the_sizes(sign_in: SignIn) -> None:
    company = make_company()
    house = make_house(company)
    Surface.objects.filter(room__area__house=house).update(takeoff="rooms", family="Q", level="Q3")
    Room.objects.filter(area__house=house).update(length_m=4.2, width_m=3.6, height_m=2.7)
    text = house_text(sign_in(company), house)
    assert "from room sizes" in text
    assert "<td>Q3" in text
    assert "room 4.2 x 3.6 x 2.7 m" in text


def waiting_tasks(house: House) -> list[PlannedTask]:
    crew = make_crew(house.company)
    first = task(crew, house, "2026-03-02 08:00", room="Hall", cautions=["dust", "ladders"])
    why = {
        "code": "wait",
        "other": first.key,
        "reason": "air",
        "ready_at": "2026-03-03T14:00:00+00:00",
        "room": "Hall",
    }
    second = task(
        crew,
        house,
        "2026-03-04 08:00",
        room="Kitchen",
        stage=Stage.SECOND,
        why=why,
        cautions=["dust"],
    )
    return [second, first]


def test_tasks_stand_by_stage_with_crew_hours_wait_and_reason(sign_in: SignIn) -> None:
    company = make_company()
    house = make_house(company, rooms=("Hall", "Kitchen"))
    make_plan(company, waiting_tasks(house))
    text = house_text(sign_in(company), house)
    assert text.index("Tape coat</th>") < text.index("Second coat</th>")
    for part in ("Mon 2 Mar 08:00", ">10:00<", "North crew", "dry Tue 3 Mar 10:00, by the rule"):
        assert part in text
    assert "Waits for: Tape coat (Hall), ready Tue 3 Mar 14:00 by the air" in text
    assert "check that it is dry" in text


def test_cautions_stand_once_each_and_defer_to_local_codes(sign_in: SignIn) -> None:
    company = make_company()
    house = make_house(company, rooms=("Hall", "Kitchen"))
    make_plan(company, waiting_tasks(house))
    text = house_text(sign_in(company), house)
    assert text.count("Sanding dust") == 1
    assert "Local codes" in text


def test_hours_are_the_houses_not_the_crews(sign_in: SignIn) -> None:
    company = make_company(zone="Europe/Dublin")
    house = make_house(company, zone="America/New_York")
    make_plan(company, [task(make_crew(company), house, "2026-03-02 15:00")])
    text = house_text(sign_in(company), house)
    # 15:00 in Dublin (UTC+0 in winter) is 10:00 in New York (UTC-5): IANA time zone database.
    assert "Mon 2 Mar 10:00" in text
    assert "All hours are those of America/New_York" in text


def test_readiness_closures_and_coats_of_others_are_listed(sign_in: SignIn) -> None:
    company = make_company()
    house = make_house(company)
    area = Area.objects.get(house=house)
    ReadinessLine.objects.create(company=company, house=house, item=Readiness.POWER, done=True)
    ReadinessLine.objects.create(
        company=company,
        house=house,
        item=Readiness.CLEAR_FLOORS,
        expected_on=date(2026, 3, 6),
        owed_by="The builder",
    )
    Closure.objects.create(
        company=company,
        area=area,
        first_day=date(2026, 3, 9),
        last_day=date(2026, 3, 11),
        reason="Screed",
    )
    CoatDone.objects.create(
        company=company,
        area=area,
        stage=Stage.TAPE,
        ended_at=datetime(2026, 2, 27, 14, tzinfo=UTC),
        done_by="Another firm",
    )
    text = house_text(sign_in(company), house)
    for part in (
        "done; tap again to undo",
        "expected Fri 6 Mar",
        "owed by The builder",
        "Closed Mon 9 Mar to Wed 11 Mar: Screed",
        "Entered with Tape coat done, Fri 27 Feb 14:00",
        "by Another firm",
    ):
        assert part in text


def test_handovers_are_told_on_the_house_and_in_the_list(sign_in: SignIn) -> None:
    company = make_company()
    house, other = make_house(company), make_house(company, "Orchard House")
    make_plan(
        company,
        handovers=[
            {
                "house": house.name,
                "house_id": str(house.public_id),
                "areas": ["Ground floor"],
                "due_on": "2026-03-27",
                "state": "planned",
                "met_at": "2026-03-30T09:00:00+00:00",
                "late_minutes": 3960,
                "chain": [
                    {
                        "task": "hall:finish",
                        "room": "Hall",
                        "house": house.name,
                        "starts_at": "2026-03-30T08:00:00+00:00",
                        "why": {"code": "release", "other": ""},
                        "behind": {},
                    }
                ],
            }
        ],
        air_assumed_from={str(house.public_id): "2026-03-12T00:00:00+00:00"},
    )
    client = sign_in(company)
    late = "Handover Fri 27 Mar (Ground floor): late, ready Mon 30 Mar 10:00"
    text = house_text(client, house)
    assert late in text
    assert "Why Fri 27 Mar is late" in text
    assert f"<li>Finish coat, Hall, {house.name}, Mon 30 Mar 09:00: The house is not open" in text
    assert "From Thu 12 Mar 00:00 on the air is assumed" in text
    listing = " ".join(client.get("/houses/").content.decode().split())
    assert late in listing
    assert "Handover Fri 27 Mar: not planned yet" in listing
    assert f"/houses/{other.public_id}/" in listing
    assert "late" not in house_text(client, other)


def test_work_without_an_area_has_its_own_part(sign_in: SignIn) -> None:
    company = make_company()
    house = make_house(company)
    job = task(
        make_crew(company),
        house,
        "2026-03-02 08:00",
        stage="odd_job",
        ready_after=None,
        job="Patch over the stairs",
    )
    job.area, job.details["room"], job.details["area"] = None, "", ""
    make_plan(company, [job])
    text = house_text(sign_in(company), house)
    assert text.index("Other work") < text.index("Patch over the stairs")


def test_an_unknown_house_is_not_here(sign_in: SignIn) -> None:
    client = sign_in(make_company())
    assert client.get("/houses/00000000-0000-7000-8000-000000000000/").status_code == 404
    assert client.get("/houses/none/").status_code == 404


def test_names_on_the_house_page_are_text(sign_in: SignIn) -> None:
    company = make_company()
    house = make_house(company, "<b>House</b>", rooms=("<script>r()</script>",), address="<i>Lane")
    why = {"code": "<u>why</u>"}
    make_plan(
        company, [task(make_crew(company, "<s>crew</s>"), house, "2026-03-02 08:00", why=why)]
    )
    text = house_text(sign_in(company), house)
    for markup in ("<b>House", "<script>r", "<i>Lane", "<s>", "<u>"):
        assert markup not in text
    assert "&lt;script&gt;r()&lt;/script&gt;" in text


def test_the_number_of_queries_does_not_grow_with_rooms_and_tasks(
    sign_in: SignIn, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for number, rooms in enumerate([("Hall",), ("Hall", "Kitchen", "Bath", "Attic")]):
        company = make_company(f"Firm {number}")
        crew, house = make_crew(company), make_house(company, rooms=rooms)
        area = Area.objects.create(company=company, house=house, name="Top", position=2)
        room = Room.objects.create(company=company, area=area, name="Loft")
        for surface in Surface.objects.filter(room__area__house=house):
            JointLine.objects.create(company=company, surface=surface, kind="butt", metres=3)
        Surface.objects.create(
            company=company, room=room, part="walls", family="Q", level="Q3", takeoff="rooms"
        )
        start = datetime(2026, 3, 2, 8, tzinfo=UTC)
        make_plan(
            company,
            [
                task(crew, house, start + timedelta(days=day), room=name)
                for day, name in enumerate([*rooms, "Loft"])
            ],
        )
        client = sign_in(company)
        with django_assert_num_queries(15):
            house_text(client, house)
        with django_assert_num_queries(4):
            client.get("/houses/")
