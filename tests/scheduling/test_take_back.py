"""Taking the last publication back: crews see again what they saw before it."""

from datetime import UTC, datetime, timedelta

import pytest

from finishing.models import Company, Crew, House
from scheduling.models import CompanyPlans, PlannedTask, Publication, Visit
from scheduling.services.publish import OvertakenError, PublishError, pending_publication
from scheduling.services.publish import publish_plan as publish_now
from scheduling.services.take_back import TakeBackError, take_back
from tests.factories import local, make_company, make_crew, make_house, make_plan, task
from tests.scheduling.test_publish import publish

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 3, 1, 18, tzinfo=UTC)
HOUR = timedelta(hours=1)
MONDAY, TUESDAY = "2026-03-02 08:00", "2026-03-03 08:00"


@pytest.fixture
def company() -> Company:
    return make_company()


@pytest.fixture
def crew(company: Company) -> Crew:
    return make_crew(company)


@pytest.fixture
def house(company: Company) -> House:
    return make_house(company, rooms=("Hall", "Kitchen", "Landing"))


def seen() -> set[tuple[str, datetime]]:
    """Return what crews see: by room, when."""
    visits = Visit.objects.filter(cancelled_at=None)
    return {(row["room"], v.starts_at) for v in visits for row in v.content["tasks"]}


def two_rooms(crew: Crew, house: House, hall: str, kitchen: str) -> list[PlannedTask]:
    return [
        task(crew, house, hall, room="Hall"),
        task(crew, house, kitchen, room="Kitchen"),
    ]


def test_crews_see_again_what_they_saw(company: Company, crew: Crew, house: House) -> None:
    first = publish(company, *two_rooms(crew, house, MONDAY, TUESDAY))
    before, uids = seen(), set(Visit.objects.values_list("uid", flat=True))
    publish(company, task(crew, house, "2026-03-05 08:00", room="Hall"), now=NOW + HOUR)
    working = CompanyPlans.objects.get().working
    assert seen() != before
    back = take_back(company=company, revision=2, now=NOW + 2 * HOUR)
    assert (back.revision, back.plan, back.takes_back) == (
        3,
        first.publication.plan,
        Publication.objects.get(revision=2),
    )
    assert seen() == before
    assert set(Visit.objects.values_list("uid", flat=True)) == uids, "the same calendar entries"
    assert all(visit.sequence > 0 for visit in Visit.objects.all())
    plans = CompanyPlans.objects.get()
    assert (plans.working, plans.published) == (working, back.plan)


def test_what_was_taken_back_can_be_published_again(
    company: Company, crew: Crew, house: House
) -> None:
    publish(company, *two_rooms(crew, house, MONDAY, TUESDAY))
    publish(company, task(crew, house, "2026-03-05 08:00", room="Hall"), now=NOW + HOUR)
    wanted = seen()
    take_back(company=company, revision=2, now=NOW + 2 * HOUR)
    assert publish_now(company=company, now=NOW + 3 * HOUR).publication.revision == 4
    assert seen() == wanted


def test_the_first_publication_leaves_crews_without_work(
    company: Company, crew: Crew, house: House
) -> None:
    publish(company, task(crew, house, MONDAY))
    back = take_back(company=company, revision=1, now=NOW + HOUR)
    assert (back.plan, seen()) == (None, set())
    assert CompanyPlans.objects.get().published is None
    assert publish_now(company=company, now=NOW + 2 * HOUR).publication.revision == 3
    assert seen() == {("Hall", local(MONDAY))}


def refusal(company: Company, revision: int, now: datetime) -> str:
    before = list(Visit.objects.values()), list(Publication.objects.values())
    with pytest.raises(TakeBackError) as refused:
        take_back(company=company, revision=revision, now=now)
    assert (list(Visit.objects.values()), list(Publication.objects.values())) == before
    return refused.value.code


def test_only_the_last_one_and_only_once(company: Company, crew: Crew, house: House) -> None:
    assert refusal(company, 1, NOW) == "not_the_last"
    publish(company, task(crew, house, MONDAY))
    publish(company, task(crew, house, TUESDAY), now=NOW + HOUR)
    assert refusal(company, 1, NOW + 2 * HOUR) == "not_the_last"
    take_back(company=company, revision=2, now=NOW + 2 * HOUR)
    assert refusal(company, 2, NOW + 3 * HOUR) == "not_the_last"
    assert refusal(company, 3, NOW + 3 * HOUR) == "taken_back"


@pytest.mark.parametrize(("old", "new"), [(MONDAY, TUESDAY), (TUESDAY, MONDAY)])
def test_not_once_work_has_begun_that_differs(
    company: Company, crew: Crew, house: House, old: str, new: str
) -> None:
    publish(company, task(crew, house, old))
    publish(company, task(crew, house, new), now=NOW + HOUR)
    assert refusal(company, 2, local("2026-03-02 09:00")) == "begun"


def test_work_begun_by_both_plans_is_no_hindrance(
    company: Company, crew: Crew, house: House
) -> None:
    publish(company, *two_rooms(crew, house, MONDAY, "2026-03-04 08:00"))
    publish(company, *two_rooms(crew, house, MONDAY, "2026-03-05 08:00"), now=NOW + HOUR)
    take_back(company=company, revision=2, now=local("2026-03-02 09:00"))
    assert seen() == {("Hall", local(MONDAY)), ("Kitchen", local("2026-03-04 08:00"))}


def test_a_crew_that_gets_no_more_work_gets_none_back(
    company: Company, crew: Crew, house: House
) -> None:
    publish(company, task(crew, house, MONDAY))
    other = make_crew(company, "South crew")
    publish(company, task(other, house, MONDAY), now=NOW + HOUR)
    crew.is_active = False
    crew.save()
    with pytest.raises(PublishError, match="North crew gets no more work"):
        take_back(company=company, revision=2, now=NOW + 2 * HOUR)
    assert Publication.objects.count() == 2


def test_looking_at_what_publishing_would_do_does_nothing(
    company: Company, crew: Crew, house: House
) -> None:
    publish(company, *two_rooms(crew, house, MONDAY, TUESDAY))
    rows = [
        task(crew, house, "2026-03-04 08:00", room="Hall"),
        task(crew, house, MONDAY, room="Landing"),
    ]
    make_plan(company, rows)
    before = list(Visit.objects.values()), list(Publication.objects.values())
    pending = pending_publication(company=company, now=NOW + HOUR)
    assert (list(Visit.objects.values()), list(Publication.objects.values())) == before
    did = publish_now(company=company, now=NOW + HOUR)
    changes = pending.changes
    assert pending.is_new
    assert [
        [v.starts_at for v in group] for group in (changes.new, changes.moved, changes.cancelled)
    ] == [[v.starts_at for v in group] for group in (did.new, did.moved, did.cancelled)]
    assert not pending_publication(company=company, now=NOW + HOUR).is_new


def test_another_working_plan_than_was_looked_at_is_not_published(
    company: Company, crew: Crew, house: House
) -> None:
    looked_at = make_plan(company, [task(crew, house, MONDAY)])
    make_plan(company, [task(crew, house, TUESDAY)])
    with pytest.raises(OvertakenError):
        publish_now(company=company, now=NOW, looked_at=looked_at)
    assert not Visit.objects.exists()
