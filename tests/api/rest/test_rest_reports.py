"""/api/v1/reports/: what a crew says, sent by another program, counts once."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.utils import timezone

from finishing.models import Company, Crew, Role, User
from finishing.queries.rights import Right
from scheduling.models import ExtraWork, Obstacle, Report, SentReport, Visit
from scheduling.queries.for_the_office import open_obstacles
from scheduling.services.publish import publish_plan
from tests.api.rest.api_clients import pointers, program
from tests.factories import make_company, make_crew, make_plan, task
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db
REPORTS = "/api/v1/reports/"
NOON = MONDAY + timedelta(hours=12)


@pytest.fixture
def visit(monkeypatch: pytest.MonkeyPatch) -> Visit:
    """A published visit with the first coats of two rooms, on Monday at eight; it is noon."""
    company, house = make_site(rooms=("Hall", "Kitchen"))
    crew = Crew.objects.get()
    make_crew(company, "South crew")
    make_plan(
        company,
        [
            task(crew, house, "2026-03-02 08:00", minutes=90, room="Hall"),
            task(crew, house, "2026-03-02 09:30", minutes=90, room="Kitchen"),
        ],
    )
    publish_plan(company=company, now=MONDAY)
    monkeypatch.setattr(timezone, "now", lambda: NOON)
    return Visit.objects.get()


def report(visit: Visit, action: str, **said: object) -> dict[str, object]:
    return {"client_id": str(uuid4()), "visit": str(visit.public_id), "action": action, **said}


def keys(visit: Visit) -> list[str]:
    return [task["key"] for task in visit.content["tasks"]]


def test_a_report_counts_once_however_often_it_is_sent(visit: Visit) -> None:
    asker = program(visit.company)
    body = report(
        visit,
        "finished",
        at="2026-03-02T12:00:00+01:00",
        left=[{"task": keys(visit)[1], "minutes": 45}],
    )
    first = asker.post(REPORTS, body)
    assert first.status_code == 201, first.json()
    assert first.json()["at"] == "2026-03-02T11:00:00Z"
    assert first.json()["crew"] == str(visit.crew.public_id)
    again = asker.post(REPORTS, body)
    assert (again.status_code, again.json()) == (200, first.json())
    said = {row.key: (row.kind, row.minutes_left) for row in Report.objects.all()}
    assert said == {keys(visit)[0]: ("done", None), keys(visit)[1]: ("not_done", 45)}
    assert Report.objects.count() == 2
    other = asker.post(REPORTS, {**body, "left": []})
    assert (other.status_code, other.json()["reason"]) == (409, "client_id_taken")
    listed = asker.get(f"{REPORTS}?visit={visit.public_id}&action=finished").json()["results"]
    assert listed == [first.json()]


def test_what_the_office_has_to_settle_reaches_it(visit: Visit) -> None:
    asker = program(visit.company)
    cannot = report(visit, "cannot_work", reason="not_ready", item="heat", note="None at all")
    assert asker.post(REPORTS, cannot).status_code == 201
    extra = report(visit, "extra_work", what="Patched a hole", person_minutes=30)
    assert asker.post(REPORTS, extra).status_code == 201
    (obstacle,) = Obstacle.objects.all()
    assert (obstacle.item, obstacle.note) == ("heat", "None at all")
    assert ExtraWork.objects.get().person_minutes == 30


def test_a_coat_found_wet_is_reported_with_when_to_look_again(visit: Visit) -> None:
    company, asker = visit.company, program(visit.company)
    assert asker.post(REPORTS, report(visit, "finished")).status_code == 201
    plan = make_plan(company, [task(visit.crew, visit.house, "2026-03-03 08:00", stage="second")])
    publish_plan(company=company, now=NOON)
    second = Visit.objects.get(starts_at__gt=NOON)
    body = report(second, "not_dry", wet=keys(second), again_in_minutes=120)
    answer = asker.post(REPORTS, body)
    assert answer.status_code == 201, answer.json()["errors"]
    found = Report.objects.get(kind="not_dry")
    assert plan.tasks.get().key != found.key == keys(visit)[0], "it is the coat below"
    assert found.again_at == NOON + timedelta(hours=2)


def test_a_report_of_a_visit_that_was_just_moved_away_is_kept_and_shown(visit: Visit) -> None:
    company, asker = visit.company, program(visit.company)
    north, south = Crew.objects.order_by("name")
    rooms = ("Hall", "Kitchen")
    for crew in (north, south):
        tasks = [task(crew, visit.house, "2026-03-03 08:00", room=room) for room in rooms]
        make_plan(company, tasks)
        publish_plan(company=company, now=MONDAY)
    visit.refresh_from_db()
    assert visit.cancelled_at is not None
    cannot = asker.post(REPORTS, report(visit, "cannot_work", reason="no_way_in"))
    assert cannot.status_code == 201, cannot.json()
    assert [row.crew for row in open_obstacles(company)] == [visit.crew]
    done = asker.post(REPORTS, report(visit, "finished"))
    assert done.status_code == 201, done.json()
    assert Report.objects.filter(kind="done", crew=visit.crew).count() == 2
    assert SentReport.objects.count() == 2


@pytest.mark.parametrize(
    ("said", "at_fault"),
    [
        ({"action": "finish"}, ["#/action"]),
        ({"action": "started", "wet": ["x"], "what": "x"}, ["#/wet", "#/what"]),
        ({"action": "not_dry"}, ["#/wet"]),
        (
            {"action": "not_dry", "wet": ["x"], "again_in_minutes": 0},
            ["#/again_in_minutes", "#/wet"],
        ),
        ({"action": "finished", "left": [{"task": "x"}]}, ["#/left/0/minutes"]),
        ({"action": "finished", "left": [{"task": "x", "minutes": 1}]}, ["#/left"]),
        ({"action": "cannot_work"}, ["#/reason"]),
        ({"action": "cannot_work", "reason": "not_ready"}, ["#/item"]),
        ({"action": "cannot_work", "reason": "damage", "item": "heat"}, ["#/item"]),
        ({"action": "extra_work", "person_minutes": 0.5}, ["#/person_minutes", "#/what"]),
        ({"action": "started", "at": "2026-03-02T13:00:00Z"}, ["#/at"]),
        ({"action": "started", "at": "2026-02-02T13:00:00Z", "crew": "x"}, ["#/at", "#/crew"]),
    ],
)
def test_a_report_that_is_no_good_is_refused_with_all_its_faults(
    visit: Visit, said: dict[str, object], at_fault: list[str]
) -> None:
    answer = program(visit.company).post(REPORTS, {**report(visit, "started"), **said})
    assert (answer.status_code, pointers(answer)) == (422, at_fault)
    assert not SentReport.objects.exists()


def test_what_cannot_be_so_is_told_in_words_and_nothing_is_kept(visit: Visit) -> None:
    asker = program(visit.company)
    answer = asker.post(REPORTS, report(visit, "not_dry", wet=keys(visit)[:1]))
    assert (answer.status_code, pointers(answer)) == (422, ["#"])
    assert answer.json()["errors"][0]["detail"].endswith("there is no coat under this work")
    assert not SentReport.objects.exists()


def test_who_may_report(visit: Visit) -> None:
    company: Company = visit.company
    south = Crew.objects.get(name="South crew")

    def lead(crew: Crew) -> User:
        return User.objects.create(
            email=f"{crew.pk}@example.com", company=company, role=Role.CREW_LEAD, crew=crew
        )

    own, other = program(company, person=lead(visit.crew)), program(company, person=lead(south))
    body = report(visit, "started")
    assert other.post(REPORTS, body).status_code == 403
    assert program(company, Right.READ).post(REPORTS, body).status_code == 403
    elsewhere = program(make_company("Another firm")).post(REPORTS, body)
    assert (elsewhere.status_code, pointers(elsewhere)) == (422, ["#/visit"])
    assert not SentReport.objects.exists()
    assert own.post(REPORTS, body).status_code == 201
