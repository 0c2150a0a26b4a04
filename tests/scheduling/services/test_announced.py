"""Word of the next two days' changes: written with the revision, once for each recipient."""

from datetime import UTC, date, datetime, timedelta

import pytest

from finishing.models import Company, Crew, CrewMember, DayOff, House, Loan
from scheduling.models import Outgoing, Publication, Visit
from scheduling.services import revisions
from scheduling.services.take_back import take_back
from tests.factories import make_company, make_crew, make_house, task
from tests.scheduling.test_publish import publish

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 3, 1, 18, tzinfo=UTC)
MONDAY, TUESDAY, FRIDAY = "2026-03-02 08:00", "2026-03-03 08:00", "2026-03-06 08:00"
MINUTE = timedelta(minutes=1)


@pytest.fixture
def company() -> Company:
    return make_company()


@pytest.fixture
def crew(company: Company) -> Crew:
    return make_crew(company, email="north@crews.example")


@pytest.fixture
def house(company: Company) -> House:
    return make_house(company, rooms=("Hall", "Kitchen"))


def told() -> list[tuple[str, str]]:
    """Return the kind of each change that waits to be told, and to whom, as written."""
    rows = Outgoing.objects.order_by("pk")
    return [(c["kind"], row.recipient) for row in rows for c in row.payload["changes"]]


def test_new_work_soon_is_told_and_work_in_a_week_is_not(
    company: Company, crew: Crew, house: House
) -> None:
    publish(company, task(crew, house, MONDAY), task(crew, house, FRIDAY, room="Kitchen"))
    assert told() == [("new", "north@crews.example")]
    row = Outgoing.objects.get()
    assert (row.publication, row.state) == (Publication.objects.get(), "waiting")


def test_the_same_plan_again_tells_nobody_anything(
    company: Company, crew: Crew, house: House
) -> None:
    publish(company, task(crew, house, MONDAY))
    publish(company, task(crew, house, MONDAY), now=NOW + MINUTE)
    assert len(told()) == 1


@pytest.mark.parametrize(("before", "after"), [(MONDAY, FRIDAY), (FRIDAY, MONDAY)])
def test_a_move_out_of_or_into_the_two_days_is_told(
    company: Company, crew: Crew, house: House, before: str, after: str
) -> None:
    publish(company, task(crew, house, before))
    Outgoing.objects.all().delete()
    publish(company, task(crew, house, after), now=NOW + MINUTE)
    assert told() == [("moved", "north@crews.example")]


def test_another_crew_is_one_word_to_each(company: Company, crew: Crew, house: House) -> None:
    other = make_crew(company, "River crew", email="river@crews.example")
    publish(company, task(crew, house, MONDAY))
    Outgoing.objects.all().delete()
    publish(company, task(other, house, MONDAY), now=NOW + MINUTE)
    assert sorted(told()) == [("cancelled", "north@crews.example"), ("new", "river@crews.example")]


def test_other_work_at_the_same_time_is_told(company: Company, crew: Crew, house: House) -> None:
    """The same hours, in the kitchen another stage."""
    hall, later = task(crew, house, MONDAY), "2026-03-02 10:00"
    publish(company, hall, task(crew, house, later, room="Kitchen", stage="second"))
    Outgoing.objects.all().delete()
    again = task(crew, house, MONDAY)
    kitchen = task(crew, house, later, room="Kitchen", stage="tape")
    publish(company, again, kitchen, now=NOW + MINUTE)
    assert told() == [("changed", "north@crews.example")]


@pytest.mark.parametrize(("day", "said"), [(MONDAY, ["reworded"]), (FRIDAY, [])])
def test_another_text_alone_is_told_once(
    company: Company, crew: Crew, house: House, day: str, said: list[str]
) -> None:
    """The same coat at the same time, with another compound to bring."""
    publish(company, task(crew, house, day, compound="All-purpose compound"))
    Outgoing.objects.all().delete()
    for later in (MINUTE, 2 * MINUTE):
        again = task(crew, house, day, compound="Setting compound")
        publish(company, again, now=NOW + later)
    assert [kind for kind, _ in told()] == said


def test_taking_back_is_told_too(company: Company, crew: Crew, house: House) -> None:
    publish(company, task(crew, house, MONDAY))
    publish(company, task(crew, house, TUESDAY), now=NOW + MINUTE)
    Outgoing.objects.all().delete()
    take_back(company=company, revision=2, now=NOW + 2 * MINUTE)
    assert told() == [("moved", "north@crews.example")]


def test_who_is_there_on_the_day_is_told_once(company: Company, crew: Crew, house: House) -> None:
    monday = date(2026, 3, 2)
    other = make_crew(company, "River crew", heads=0)

    def member(of: Crew, name: str, **fields: object) -> CrewMember:
        email = f"{name}@crews.example"
        return CrewMember.objects.create(
            company=company, crew=of, name=name, **{"email": email, **fields}
        )

    member(crew, "here")
    member(crew, "same", email="North@crews.example")
    member(crew, "gone", to_day=date(2026, 2, 27))
    lent, away, borrowed = member(crew, "lent"), member(crew, "away"), member(other, "borrowed")
    member(other, "other")
    Loan.objects.create(company=company, member=lent, crew=other, day=monday)
    Loan.objects.create(company=company, member=borrowed, crew=crew, day=monday)
    DayOff.objects.create(company=company, crew=crew, member=away, day=monday)
    publish(company, task(crew, house, MONDAY))
    assert [address for _, address in told()] == [
        "borrowed@crews.example",
        "here@crews.example",
        "north@crews.example",
    ]


def test_without_addresses_nothing_is_written(company: Company, house: House) -> None:
    publish(company, task(make_crew(company), house, MONDAY))
    assert told() == []


def test_a_publication_that_fails_leaves_nothing_to_send(
    company: Company, crew: Crew, house: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> None:
        raise RuntimeError

    monkeypatch.setattr(revisions, "keep_house_revisions", broken)
    with pytest.raises(RuntimeError):
        publish(company, task(crew, house, MONDAY))
    assert not Outgoing.objects.exists()
    assert not Visit.objects.exists()
