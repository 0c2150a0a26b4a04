"""A house's notes and history."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from finishing.models import Change, House, Note, Room
from scheduling.models import ExtraWork, Obstacle, Report, Visit
from scheduling.services.publish import publish_plan
from tests.api.conftest import SignIn
from tests.factories import make_company, make_crew, make_house, make_plan, task

pytestmark = pytest.mark.django_db
THEN = datetime(2026, 3, 2, 8, tzinfo=UTC)


@pytest.fixture
def house() -> House:
    return make_house(make_company(), rooms=("Hall", "Kitchen"))


@pytest.fixture
def client(sign_in: SignIn, house: House) -> Client:
    return sign_in(house.company)


def history_of(house: House) -> str:
    return f"/houses/{house.public_id}/history/"


def shown(client: Client, house: House, page: str = "") -> str:
    response = client.get(history_of(house) + page)
    assert response.status_code == 200
    return " ".join(response.content.decode().split())


def visited(house: House) -> Visit:
    """A published visit that is over, of two tasks."""
    crew = make_crew(house.company)
    rooms = [task(crew, house, THEN, room="Hall"), task(crew, house, THEN, room="Kitchen")]
    make_plan(house.company, rooms)
    publish_plan(company=house.company, now=THEN - timedelta(hours=1))
    return Visit.objects.get()


def report(visit: Visit, room: str, kind: str, **fields: Any) -> None:
    key = f"{Room.objects.get(name=room).public_id}:tape"
    Report.objects.create(
        company=visit.company, crew=visit.crew, kind=kind, key=key, at=THEN, said_at=THEN, **fields
    )


def test_a_visit_that_is_over_is_told_with_what_was_reported(client: Client, house: House) -> None:
    visit = visited(house)
    assert "No report: counts as done as planned." in shown(client, house)
    report(visit, "Hall", "done")
    text = shown(client, house)
    assert "North crew, Mon 2 Mar 08:00 to 10:00: Tape coat · Ground floor." in text
    assert "1 of 2 tasks reported done." in text
    report(visit, "Kitchen", "done")
    assert "Reported done." in shown(client, house)


def test_what_crews_say_edits_notes_and_publications_stand_newest_first(
    client: Client, house: House
) -> None:
    visit = visited(house)
    report(visit, "Hall", "not_dry")
    whose = {"company": house.company, "house": house, "crew": visit.crew, "visit": visit}
    Obstacle.objects.create(**whose, reason="damage", at=THEN + timedelta(days=1))
    extra = {"what": "Box round a pipe", "person_minutes": 90}
    settled = {"settled_at": THEN + timedelta(days=3)}
    ExtraWork.objects.create(**whose, **extra, **settled, at=THEN + timedelta(days=2))
    Change.objects.create(
        company=house.company,
        house=house,
        at=THEN + timedelta(days=3),
        kind="changed",
        what="house",
        fields={"handover_on": ["2026-03-27", "2026-04-02"], "access": [None, "mon 07:00-12:00"]},
    )
    client.post(history_of(house), {"text": "Key at number 4"})
    text = shown(client, house)
    places = [
        text.index(part)
        for part in (
            "Key at number 4",
            "The house: Handover Thu 2 Apr instead of Fri 27 Mar",
            "Hours crews may be inside mon 07:00-12:00 instead of nothing",
            "Extra work: Box round a pipe, 1.5 person-hours",
            "Settled Thu 5 Mar 08:00",
            "Cannot work: Damage by others",
            "North crew, Mon 2 Mar 08:00",
            "Not dry yet: Tape coat, Ground floor, Hall",
            "Revision 1 was published: North crew comes Mon 2 Mar 08:00",
        )
    ]
    assert places == sorted(places)


def test_a_note_says_who_wrote_it_and_where_and_is_struck_out_in_sight(
    client: Client, house: House
) -> None:
    area = house.areas.get()
    client.post(history_of(house), {"text": "Key at number 4", "area": str(area.public_id)})
    note = Note.objects.get()
    text = shown(client, house)
    assert "Ground floor: Key at number 4" in text
    assert str(note.by) in text
    strike = f"/houses/{house.public_id}/notes/{note.public_id}/strike/"
    response = client.post(strike, {"struck": "yes", "version": 1})
    assert response["Location"] == history_of(house)
    assert "<del>Ground floor: Key at number 4</del>" in shown(client, house)
    assert client.post(strike, {"struck": "no", "version": 1}).status_code == 409
    client.post(strike, {"struck": "no", "version": 2})
    assert "<del>" not in shown(client, house)


def test_a_blank_note_and_another_houses_area_are_refused(client: Client, house: House) -> None:
    other = make_house(house.company, "Quay House").areas.get()
    response = client.post(history_of(house), {"text": " ", "area": str(other.public_id)})
    text = response.content.decode()
    assert response.status_code == 422
    assert "Type what is to be remembered." in text
    assert 'href="#id_area"' in text
    assert not Note.objects.exists()


def test_another_companys_history_and_notes_are_not_there(sign_in: SignIn, house: House) -> None:
    note = Note.objects.create(company=house.company, house=house, text="Key", at=THEN)
    company = make_company("Other Finishing")
    other, own = sign_in(company), make_house(company, "Own house")
    assert other.get(history_of(house)).status_code == 404
    assert other.post(history_of(house), {"text": "Mine"}).status_code == 404
    for mine in (house, own):
        strike = f"/houses/{mine.public_id}/notes/{note.public_id}/strike/"
        assert other.post(strike, {"struck": "yes", "version": 1}).status_code == 404
    note.refresh_from_db()
    assert note.struck_at is None
    assert "Nothing yet" in shown(other, own)


def test_an_edit_on_another_page_comes_to_stand_in_the_history(
    client: Client, house: House
) -> None:
    sent = {"power-version": 0, "power-state": "open", "power-owed_by": "Electrician"}
    client.post(f"/houses/{house.public_id}/site/readiness/", sent)
    text = shown(client, house)
    assert "Before work can start: power, new (Done: no; Owed by: Electrician)" in text


def test_pages_are_bounded_in_rows_and_queries(
    client: Client, house: House, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    visit = visited(house)
    report(visit, "Hall", "not_dry")
    now = timezone.now()
    Note.objects.bulk_create(
        Note(company=house.company, house=house, text=f"Note {n:03}", at=now + timedelta(seconds=n))
        for n in range(70)
    )
    with django_assert_max_num_queries(15):
        first = shown(client, house)
    with django_assert_max_num_queries(15):
        last = shown(client, house, "?page=3")
    assert "Note 069" in first
    assert "Note 039" not in first
    assert "Page 3 of 3" in last
    assert "Note 000" in last
    assert "Revision 1 was published" in last
    assert "Page 3 of 3" in shown(client, house, "?page=99")
