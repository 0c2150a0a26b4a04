"""Publishing from a page: nothing by accident, and the last one can be taken back."""

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from finishing.models import Company, Crew, House, ReadinessLine, Role
from scheduling.models import Outgoing, Plan, Publication, Visit
from tests.api.conftest import SignIn
from tests.factories import local, make_company, make_crew, make_house, make_plan, task

pytestmark = pytest.mark.django_db(transaction=True)

NOW = local("2026-03-01 18:00")


@pytest.fixture(autouse=True)
def _sunday(monkeypatch: pytest.MonkeyPatch) -> None:
    """A Sunday evening; the plans are for the week that follows."""
    monkeypatch.setattr(timezone, "now", lambda: NOW)


@pytest.fixture
def site() -> tuple[Company, Crew, House]:
    company = make_company()
    return company, make_crew(company), make_house(company, rooms=("Hall", "Kitchen"))


def text_of(client: Client, status: int = 200) -> str:
    answer = client.get("/publishing/")
    assert answer.status_code == status
    return " ".join(answer.content.decode().split())


def publish(client: Client, plan: Plan) -> int:
    return client.post(f"/plans/{plan.public_id}/publish/").status_code


def test_nothing_is_planned(sign_in: SignIn) -> None:
    text = text_of(sign_in(make_company()))
    assert "Test Finishing: nothing is planned yet, so nothing can be published." in text
    assert "Publish to the crews" not in text


def test_crews_are_told_once_somebody_has_seen_what(
    sign_in: SignIn, site: tuple[Company, Crew, House]
) -> None:
    company, crew, house = site
    client = sign_in(company)
    first = make_plan(
        company,
        [
            task(crew, house, "2026-03-02 08:00", room="Hall"),
            task(crew, house, "2026-03-03 08:00", room="Kitchen"),
        ],
    )
    assert "1 crew hears of a change." in text_of(client)
    assert not Visit.objects.exists(), "to look is to change nothing"
    assert publish(client, first) == 302
    assert "Nothing: crews see the working plan as it is." in text_of(client)
    second = make_plan(company, [task(crew, house, "2026-03-04 09:00", room="Hall")])
    text = text_of(client)
    assert 'before: </span>Mon 2 Mar 08:00-10:00</span> → <span class="will-be">' in text
    assert "after: </span>Wed 4 Mar 09:00-11:00</span>" in text
    assert "Called off" in text
    assert publish(client, second) == 302
    assert Visit.objects.get(cancelled_at=None).starts_at == local("2026-03-04 09:00")


def test_a_visit_that_stays_at_its_time_is_said_to_be_otherwise(
    sign_in: SignIn, site: tuple[Company, Crew, House]
) -> None:
    company, crew, house = site
    client = sign_in(company)
    first = make_plan(company, [task(crew, house, "2026-03-02 08:00", room="Hall")])
    assert publish(client, first) == 302
    make_plan(company, [task(crew, house, "2026-03-02 08:00", room="Hall", cautions=["ladders"])])
    text = text_of(client)
    assert "Mon 2 Mar 08:00-10:00, with other work, or dry at another time" in text
    assert "before:" not in text


def test_another_plan_than_was_looked_at_is_refused(
    sign_in: SignIn, site: tuple[Company, Crew, House]
) -> None:
    company, crew, house = site
    looked_at = make_plan(company, [task(crew, house, "2026-03-02 08:00")])
    make_plan(company, [task(crew, house, "2026-03-03 08:00")])
    client = sign_in(company)
    answer = client.post(f"/plans/{looked_at.public_id}/publish/")
    assert answer.status_code == 409
    assert "another plan is the working plan by now" in answer.content.decode()
    assert not Visit.objects.exists()


def test_work_held_back_says_why(sign_in: SignIn, site: tuple[Company, Crew, House]) -> None:
    company, crew, house = site
    ReadinessLine.objects.create(company=company, house=house, item="boarded", done=False)
    make_plan(company, [task(crew, house, "2026-03-02 08:00")])
    text = text_of(sign_in(company))
    assert "Held back: the house is not ready" in text
    assert "Not ready: boarded" in text


def test_the_last_publication_is_taken_back(
    sign_in: SignIn, site: tuple[Company, Crew, House]
) -> None:
    company, crew, house = site
    client = sign_in(company)
    publish(client, make_plan(company, [task(crew, house, "2026-03-02 08:00")]))
    publish(client, make_plan(company, [task(crew, house, "2026-03-03 08:00")]))
    assert "Take revision 2 back" in text_of(client)
    assert client.post("/publishing/2/take-back/").status_code == 302
    assert Visit.objects.get().starts_at == local("2026-03-02 08:00")
    text = text_of(client)
    assert "Takes revision 2 back" in text
    assert "Revision 3 cannot be taken back: revision 3 takes one back itself" in text
    again = client.post("/publishing/2/take-back/")
    assert again.status_code == 409
    assert "Something else has been published since." in " ".join(again.content.decode().split())
    assert Publication.objects.count() == 3


def test_not_once_crews_have_begun(
    sign_in: SignIn, site: tuple[Company, Crew, House], monkeypatch: pytest.MonkeyPatch
) -> None:
    company, crew, house = site
    client = sign_in(company)
    publish(client, make_plan(company, [task(crew, house, "2026-03-02 08:00")]))
    monkeypatch.setattr(timezone, "now", lambda: local("2026-03-02 09:00"))
    assert "cannot be taken back: crews have begun work" in text_of(client)
    assert client.post("/publishing/1/take-back/").status_code == 409
    assert Visit.objects.get().cancelled_at is None


def test_no_other_company_publishes_or_takes_back(
    sign_in: SignIn, site: tuple[Company, Crew, House]
) -> None:
    company, crew, house = site
    plan = make_plan(company, [task(crew, house, "2026-03-02 08:00")])
    stranger = sign_in(make_company("Other"))
    assert publish(stranger, plan) == 404
    publish(sign_in(company), plan)
    assert stranger.post("/publishing/1/take-back/").status_code == 409
    assert Publication.objects.count() == 1


def test_only_a_form_of_our_own_publishes(
    sign_in: SignIn, site: tuple[Company, Crew, House]
) -> None:
    company, crew, house = site
    plan = make_plan(company, [task(crew, house, "2026-03-02 08:00")])
    client = sign_in(company)
    assert client.get(f"/plans/{plan.public_id}/publish/").status_code == 405
    assert client.get("/publishing/1/take-back/").status_code == 405
    client.handler.enforce_csrf_checks = True
    assert publish(client, plan) == 403
    assert not Visit.objects.exists()


def test_a_fixed_number_of_queries(
    sign_in: SignIn,
    site: tuple[Company, Crew, House],
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    company, crew, house = site
    rows = [
        task(crew, house, NOW + timedelta(days=1 + number, hours=14), room="Hall", key=f"k{number}")
        for number in range(12)
    ]
    make_plan(company, rows)
    client = sign_in(company)
    with django_assert_max_num_queries(32):
        client.get("/publishing/")


def test_the_office_sees_what_was_sent_and_what_failed_and_sends_it_again(
    sign_in: SignIn, site: tuple[Company, Crew, House]
) -> None:
    company, crew, house = site
    Crew.objects.filter(pk=crew.pk).update(email="north@crews.example")
    client = sign_in(company)
    plan = make_plan(company, [task(crew, house, "2026-03-02 08:00")])
    assert "by e-mail" not in text_of(client)
    publish(client, plan)
    assert "north@crews.example" in text_of(client)
    assert "Waits to be sent" in text_of(client)
    row = Outgoing.objects.get()
    Outgoing.objects.update(state="given_up", error="no <b>answer</b>", ended_at=NOW, attempts=10)
    text = text_of(client)
    assert "Given up Sun 1 Mar 18:00: no &lt;b&gt;answer" in text
    address = f"/publishing/sent/{row.public_id}/"
    assert sign_in(company, Role.VIEWER).post(address, {"version": 1}).status_code == 403
    assert sign_in(make_company("Other Finishing")).post(address).status_code == 404
    assert client.post(address, {"version": 99}).status_code == 302
    row.refresh_from_db()
    assert row.state == "given_up", "the page was no longer true"
    assert client.post(address, {"version": row.version}).status_code == 302
    row.refresh_from_db()
    assert (row.state, row.attempts) == ("waiting", 0)
