"""The page on which a half-done house and its odd jobs are entered."""

from datetime import UTC, datetime
from typing import Any

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from finishing.models import Area, CoatDone, Compound, House, OddJob
from tests.api.conftest import SignIn
from tests.factories import make_company, make_house
from tests.sites import make_site

pytestmark = pytest.mark.django_db


def done_of(house: House, part: str = "") -> str:
    return f"/houses/{house.public_id}/done/" + (f"{part}/" if part else "")


def coat(area: Area, **typed: Any) -> dict[str, Any]:
    fields = {"version": 0, "stage": "", "compound": "", "ended_at": "", "done_by": "", **typed}
    return {f"area-{area.public_id}-{name}": value for name, value in fields.items()}


def job(place: str = "new-1", **typed: Any) -> dict[str, Any]:
    fields = {"version": 0, "name": "", "person_minutes": "", "skill": "odd_jobs", **typed}
    return {f"{place}-{name}": value for name, value in fields.items()}


@pytest.fixture
def house(db: None) -> House:
    return make_site()[1]


@pytest.fixture
def client(sign_in: SignIn, house: House) -> Client:
    return sign_in(house.company)


def test_all_areas_are_entered_on_one_form(client: Client, house: House) -> None:
    ground = house.areas.get()
    top = Area.objects.create(company=house.company, house=house, name="Top", position=2)
    compound = Compound.objects.filter(company=house.company)[0]
    typed = coat(
        ground,
        stage="tape",
        compound=str(compound.public_id),
        ended_at="2026-02-27T14:30",
        done_by="Another firm",
    )
    response = client.post(done_of(house, "coats"), typed | coat(top))
    assert response["Location"] == done_of(house) + "?saved=coats#coats"
    row = CoatDone.objects.get()
    assert (row.area, row.compound) == (ground, compound)
    assert row.ended_at == datetime(2026, 2, 27, 14, 30, tzinfo=UTC)
    assert 'value="2026-02-27T14:30"' in client.get(done_of(house)).content.decode()


def test_all_faults_are_shown_at_once_and_what_was_typed_stays(
    client: Client, house: House
) -> None:
    ground = house.areas.get()
    top = Area.objects.create(company=house.company, house=house, name="Top", position=2)
    typed = coat(ground, stage="tape", ended_at="last week") | coat(top, done_by="Another firm")
    response = client.post(done_of(house, "coats"), typed)
    text = response.content.decode()
    assert response.status_code == 422
    for part in (
        "is not a time written as",
        "Top: choose the last stage done",
        'value="Another firm"',
        f'href="#id_area-{ground.public_id}-ended_at"',
    ):
        assert part in text


def test_an_hour_that_comes_twice_is_asked_about(client: Client, house: House) -> None:
    area = house.areas.get()
    typed = coat(area, stage="tape", ended_at="2025-10-26T01:30")
    response = client.post(done_of(house, "coats"), typed)
    which = f"area-{area.public_id}-which"
    assert response.status_code == 422
    assert f'name="{which}"' in response.content.decode()
    client.post(done_of(house, "coats"), typed | {which: "second"})
    assert CoatDone.objects.get().ended_at == datetime(2025, 10, 26, 1, 30, tzinfo=UTC)


def test_an_hour_that_the_clock_jumps_over_is_refused(client: Client, house: House) -> None:
    typed = coat(house.areas.get(), stage="tape", ended_at="2026-03-29T01:30")
    text = client.post(done_of(house, "coats"), typed).content.decode()
    assert "does not exist in Europe/Dublin" in text


def test_another_companys_compound_is_no_choice(client: Client, house: House) -> None:
    other = make_company("Other Finishing")
    theirs = Compound.objects.create(company=other, name="Theirs", hardening="dries")
    typed = coat(
        house.areas.get(),
        stage="tape",
        ended_at="2026-02-27T14:30",
        compound=str(theirs.public_id),
    )
    assert client.post(done_of(house, "coats"), typed).status_code == 422


def test_an_area_entered_in_another_tab_says_how_it_is_now(client: Client, house: House) -> None:
    area = house.areas.get()
    client.post(done_of(house, "coats"), coat(area, stage="tape", ended_at="2026-02-27T14:30"))
    response = client.post(
        done_of(house, "coats"), coat(area, stage="second", ended_at="2026-02-27T14:30")
    )
    assert response.status_code == 409
    assert "Ground floor: Tape coat, Fri 27 Feb 14:30" in response.content.decode()


def test_jobs_are_entered_in_hours(client: Client, house: House) -> None:
    typed = job(name="Patch by the stairs", person_minutes="2,5")
    assert client.post(done_of(house, "jobs"), typed | job("new-2")).status_code == 302
    row = OddJob.objects.get()
    assert (row.name, row.person_minutes, row.skill, row.done) == (
        "Patch by the stairs",
        150,
        "odd_jobs",
        False,
    )
    assert 'value="2.5"' in client.get(done_of(house)).content.decode()


def test_jobs_without_name_or_hours_are_asked_about(client: Client, house: House) -> None:
    typed = job(person_minutes="2") | job("new-2", name="Sweep")
    text = client.post(done_of(house, "jobs"), typed).content.decode()
    assert "Say what is to be done." in text
    assert "Say how many hours it takes." in text
    assert not OddJob.objects.exists()


def test_a_job_is_removed(client: Client, house: House) -> None:
    client.post(done_of(house, "jobs"), job(name="Sweep", person_minutes="2"))
    row = OddJob.objects.get()
    typed = job(f"job-{row.public_id}", version=1, name="Sweep", person_minutes="2", remove="on")
    client.post(done_of(house, "jobs"), typed)
    assert not OddJob.objects.exists()


def test_another_companys_house_is_not_there(sign_in: SignIn, house: House) -> None:
    other = sign_in(make_company("Other Finishing"))
    assert other.get(done_of(house)).status_code == 404
    for part in ("coats", "jobs"):
        typed = job(name="Sweep", person_minutes="2")
        assert other.post(done_of(house, part), typed).status_code == 404
    assert not OddJob.objects.exists()


def test_queries_do_not_grow_with_areas_and_jobs(
    client: Client, house: House, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    for number in range(6):
        area = Area.objects.create(company=house.company, house=house, name=f"Floor {number}")
        CoatDone.objects.create(
            company=house.company,
            area=area,
            stage="tape",
            ended_at=datetime(2026, 3, 1, tzinfo=UTC),
        )
        OddJob.objects.create(
            company=house.company, house=house, name=f"Job {number}", person_minutes=60
        )
    with django_assert_max_num_queries(15):
        client.get(done_of(house))


def test_a_house_without_areas_says_so(client: Client, house: House) -> None:
    bare = make_house(house.company, "Bare house", rooms=())
    bare.areas.all().delete()
    assert "The house has no areas yet" in client.get(done_of(bare)).content.decode()
    assert client.post(done_of(bare, "coats"), {}).status_code == 409
