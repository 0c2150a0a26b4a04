"""A crew's page: its published visits, what it may say of them, what it is told when it may not."""

import re
from datetime import timedelta
from uuid import uuid4

import pytest
from django.test import Client
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from finishing.models import Crew, House, Role, Surface
from scheduling.models import ExtraWork, Report, SentReport, Visit
from scheduling.services.links import make_page, page_address, revoke_link
from scheduling.services.publish import publish_plan
from tests.api.conftest import SignIn
from tests.factories import make_company, make_crew, make_house, make_plan, task
from tests.sites import FLATS_AND_CORNERS, add_joints

pytestmark = pytest.mark.django_db
MOVE = {"code": "set_down", "dryer": "Dehumidifier 40 L", "minutes": 10}


@pytest.fixture(autouse=True)
def _in_the_morning(monkeypatch: pytest.MonkeyPatch) -> None:
    """Work that begins in five minutes ends on the same day, whenever the tests run."""
    nine = timezone.now().replace(hour=9, minute=0)
    monkeypatch.setattr(timezone, "now", lambda: nine)


@pytest.fixture
def crew() -> Crew:
    """A crew at Mill Cottage today, in a kitchen where another coated the hall, and in a week."""
    company = make_company()
    crew, other = make_crew(company), make_crew(company, "South crew")
    mill = make_house(
        company, rooms=("Hall", "Kitchen"), address="1 Mill Lane", latitude=53.35, longitude=-6.26
    )
    for surface in Surface.objects.all():
        add_joints(surface, FLATS_AND_CORNERS)
    soon = timezone.now().replace(microsecond=0) + timedelta(minutes=5)
    tasks = [
        task(other, mill, soon, minutes=30, room="Hall", ready_after=timedelta(days=9)),
        task(
            crew,
            mill,
            soon + timedelta(minutes=40),
            room="Kitchen",
            cautions=["ladders"],
            dryers=[MOVE],
        ),
        task(crew, make_house(company, "Weir House"), soon + timedelta(days=7)),
    ]
    make_plan(company, tasks)
    publish_plan(company=company, now=timezone.now())
    return crew


def path_of(crew: Crew) -> str:
    return page_address(make_page(crew=crew)).removeprefix("http://127.0.0.1:8000")


def visit_of(crew: Crew, house: str = "Mill Cottage") -> Visit:
    return Visit.objects.get(crew=crew, house__name=house)


def tapped(crew: Crew, action: str, **values: str) -> dict[str, str]:
    visit = str(visit_of(crew).public_id)
    return {"sent_as": str(uuid4()), "visit": visit, "action": action, **values}


def test_where_when_what_with_what_and_what_not_to_touch(client: Client, crew: Crew) -> None:
    text = client.get(path_of(crew)).text
    for said in (
        "Mill Cottage",
        "1 Mill Lane",
        'href="geo:53.35,-6.26?q=53.35,-6.26"',
        "Tape coat · Ground floor · All-purpose drying compound",
        "Widths: flat joints 150 mm",
        "Kitchen, walls: flat joints 12.3 m",
        "Bring: 150 mm knife",
        "set down: Dehumidifier 40 L, switched on",
        "Work at height",
        "Local codes and licensed practice decide",
    ):
        assert said in text
    assert re.search(r"Ground floor \(Kitchen\): not before \w{3} \d+ \w{3} \d\d:\d\d", text)
    assert re.search(r"Ground floor \(Hall\): not before \w{3} \d+ \w{3} \d\d:\d\d", text)
    assert "Weir House" not in text


def test_a_coat_that_sets_while_its_crew_is_there_is_not_among_what_it_must_not_touch(
    client: Client, crew: Crew
) -> None:
    soon = timezone.now().replace(microsecond=0) + timedelta(minutes=5)
    sets = task(
        crew,
        House.objects.get(name="Weir House"),
        soon,
        minutes=30,
        stage="prefill",
        ready_after=timedelta(minutes=50),
        hardening="sets",
    )
    after = task(crew, sets.house, soon + timedelta(minutes=40), minutes=60, ready_after=None)
    make_plan(crew.company, [sets, after])
    publish_plan(company=crew.company, now=timezone.now())
    text = client.get(path_of(crew)).text
    assert "Pre-fill and beads" in text
    assert "planned set then" not in text


def test_a_crew_of_the_united_states_reads_inches_feet_and_gallons(
    client: Client, crew: Crew
) -> None:
    crew.company.country = "US"
    crew.company.save()
    text = client.get(path_of(crew)).text
    # 150 mm, 12.3 m, 12.5 m; 3.2 L and 5.3 kg by the international pound and the US gallon.
    for said in ("flat joints 6 in", "40 ft", "Tape: 41 ft", "0.8 gal (11.7 lb)", "6 in knife"):
        assert said in text


def test_a_day_of_its_own_says_what_is_to_come_and_takes_nothing_yet(
    client: Client, crew: Crew
) -> None:
    text = client.get(path_of(crew)).text
    (later,) = re.findall(r'href="(20\d\d-\d\d-\d\d/)"', text)
    text = client.get(path_of(crew) + later).text
    assert "Weir House" in text
    assert 'name="sent_as"' not in text


def test_taps_count_once_and_are_shown(client: Client, crew: Crew) -> None:
    form = tapped(crew, "started")
    for _ in range(2):
        text = client.post(path_of(crew), form, follow=True).text
        assert re.search(r"Noted: Mill Cottage, .*\d\d:\d\d started\.", text)
    assert [(row.kind, row.crew) for row in Report.objects.all()] == [("started", crew)]


def test_what_is_left_by_room(client: Client, crew: Crew) -> None:
    (key,) = (row["key"] for row in visit_of(crew).content["tasks"])
    form = tapped(crew, "finished", **{f"left:{key}": "on", f"hours:{key}": "1,5"})
    text = client.post(path_of(crew), form, follow=True).text
    assert "finished, but for: Tape coat, Ground floor, Kitchen" in text
    assert [(row.kind, row.minutes_left) for row in Report.objects.all()] == [("not_done", 90)]


def test_a_tap_kept_on_the_phone_counts_for_when_it_was_tapped(client: Client, crew: Crew) -> None:
    at = timezone.now().replace(microsecond=0) - timedelta(hours=3)
    client.post(path_of(crew), tapped(crew, "started", tapped_at=at.isoformat()))
    ahead = timezone.now() + timedelta(hours=1)
    client.post(
        path_of(crew),
        tapped(crew, "extra_work", what="Patch", hours="2", tapped_at=ahead.isoformat()),
    )
    assert Report.objects.get().at == at
    assert ExtraWork.objects.get().at <= timezone.now(), "whatever the phone's clock says"
    assert ExtraWork.objects.get().person_minutes == 120


@pytest.mark.parametrize(
    ("action", "values", "said"),
    [
        ("finished", {"hours": "many"}, "This is not a number"),
        ("not_dry", {}, "Choose the rooms."),
        ("cannot_work", {}, "Choose why."),
        ("cannot_work", {"reason": "not_ready"}, "Say what is not ready."),
        ("extra_work", {"what": "Patch"}, "Say how many hours."),
        ("extra_work", {"hours": "0", "what": "Patch"}, "Say how many hours."),
        ("started", {"tapped_at": "2020-01-01T08:00:00Z"}, "This was tapped too long ago."),
        ("started", {"sent_as": "no id"}, "This page was not whole."),
    ],
)
def test_what_is_refused_stays_as_typed(
    client: Client, crew: Crew, action: str, values: dict[str, str], said: str
) -> None:
    (key,) = (row["key"] for row in visit_of(crew).content["tasks"])
    if "hours" in values and action == "finished":
        values = {f"hours:{key}": values["hours"]}
    response = client.post(path_of(crew), tapped(crew, action, **values))
    assert response.status_code == 422
    assert said in response.text
    for name in {"what", f"hours:{key}"} & values.keys():
        assert f'value="{values[name]}"' in response.text
    assert not SentReport.objects.exists()


def test_a_visit_of_another_crew_or_company_is_not_known(client: Client, crew: Crew) -> None:
    other = make_crew(make_company("Other"), "Their crew")
    for stranger in (other, Crew.objects.get(name="South crew")):
        response = client.post(path_of(stranger), tapped(crew, "started"))
        assert response.status_code == 404
        assert "Mill Cottage" not in client.get(path_of(other)).text
    assert not Report.objects.exists()


def test_whoever_leads_a_crew_reports_for_it_alone_and_by_its_page(
    sign_in: SignIn, crew: Crew
) -> None:
    south = Crew.objects.get(name="South crew")
    lead = sign_in(crew.company, Role.CREW_LEAD, south)
    assert lead.post(path_of(south), tapped(crew, "started")).status_code == 404
    assert not Report.objects.exists()
    assert lead.get("/messages/").status_code == 403, "where the pages of all crews are named"
    own = sign_in(crew.company, Role.CREW_LEAD, crew)
    assert own.post(path_of(crew), tapped(crew, "started")).status_code == 302
    assert Report.objects.get().crew == crew


def test_a_visit_that_was_cancelled_is_answered_with_why(client: Client, crew: Crew) -> None:
    make_plan(crew.company, [])
    form = tapped(crew, "started")
    Visit.objects.update(cancelled_at=timezone.now())
    response = client.post(path_of(crew), form)
    assert response.status_code == 422
    assert "is in no published visit: report it once it is done" in response.text


def test_an_ended_page_and_a_form_too_large(client: Client, crew: Crew) -> None:
    path = path_of(crew)
    too_large = client.post(path, tapped(crew, "started", note="x" * (12 * 1024 * 1024)))
    assert too_large.status_code == 413
    revoke_link(link=make_page(crew=crew), now=timezone.now())
    assert client.get(path).status_code == 410
    assert client.post(path, tapped(crew, "started")).status_code == 410
    assert not SentReport.objects.exists()


def test_a_page_takes_as_many_queries_however_many_visits(
    client: Client, crew: Crew, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    path, soon = path_of(crew), timezone.now() + timedelta(minutes=10)
    houses = [make_house(crew.company, f"House {number}") for number in range(6)]
    make_plan(
        crew.company,
        [
            task(crew, house, soon + timedelta(hours=2 * number), minutes=60)
            for number, house in enumerate(houses)
        ],
    )
    publish_plan(company=crew.company, now=timezone.now())
    with django_assert_max_num_queries(13):
        text = client.get(path).text
    assert House.objects.count() == 8
    assert text.count("<article") >= 2


def test_the_worker_is_there_for_who_has_the_address_alone(client: Client, crew: Crew) -> None:
    worker = client.get(path_of(crew) + "worker.js")
    assert worker.headers["Content-Type"] == "text/javascript; charset=utf-8"
    assert "Service-Worker-Allowed" not in worker.headers, "it reaches no further than its folder"
    assert client.get("/crew/nobody-knows/worker.js").status_code == 404


def test_a_crew_that_speaks_spanish_reads_all_of_it_in_spanish(client: Client, crew: Crew) -> None:
    crew.language = "es"
    crew.save()
    text = client.get(path_of(crew)).text
    for said in (
        '<html lang="es">',
        "Hoy",
        "Mano de encintado · Ground floor",
        "Anchos: juntas planas 150 mm",
        "Kitchen, paredes: juntas planas 12,3 m",
        "Traer: espátula de 150 mm",
        "dejar puesto: Dehumidifier 40 L, encendido",
        "Trabajo en altura",
        "Deciden las normas locales",
        "No se puede trabajar",
    ):
        assert said in text
    refused = client.post(path_of(crew), tapped(crew, "cannot_work"))
    assert "Elige por qué." in refused.text
    assert "There is no such page." in client.get("/crew/nobody-knows/").text, "nobody's language"
