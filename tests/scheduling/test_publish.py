"""Publishing: identities of visits, revisions, what is held back, all or nothing."""

from datetime import UTC, datetime, timedelta

import pytest

from finishing.models import Company, Crew, House
from scheduling.models import CompanyPlans, FeedLink, PlannedTask, Publication, Visit
from scheduling.services.links import blank_link
from scheduling.services.publish import PublishError, PublishResult, publish_plan
from tests.factories import local, make_company, make_crew, make_house, make_plan, task
from tests.scheduling.feed_reading import events_of

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 3, 1, 18, tzinfo=UTC)
"""A Sunday evening; the plans are for the week that follows."""
HOUR = timedelta(hours=1)


@pytest.fixture
def company() -> Company:
    return make_company()


@pytest.fixture
def crew(company: Company) -> Crew:
    return make_crew(company)


@pytest.fixture
def house(company: Company) -> House:
    return make_house(company, rooms=("Hall", "Kitchen", "Landing"))


def publish(company: Company, *tasks: PlannedTask, now: datetime = NOW) -> PublishResult:
    make_plan(company, tasks)
    return publish_plan(company=company, now=now)


def only_visit() -> Visit:
    return Visit.objects.get()


def test_a_first_publication_is_revision_1(company: Company, crew: Crew, house: House) -> None:
    result = publish(company, task(crew, house, "2026-03-02 08:00"))
    assert (result.publication.revision, result.is_new, len(result.new)) == (1, True, 1)
    visit = only_visit()
    assert (visit.crew, visit.house, visit.sequence) == (crew, house, 0)
    assert visit.starts_at == local("2026-03-02 08:00")
    assert visit.created_at == visit.modified_at == NOW
    assert CompanyPlans.objects.get().published == result.publication.plan
    assert FeedLink.objects.get().crew == crew


def test_nothing_planned_is_refused(company: Company) -> None:
    with pytest.raises(PublishError, match="nothing is planned"):
        publish_plan(company=company, now=NOW)


def test_the_same_plan_twice_is_one_revision(company: Company, crew: Crew, house: House) -> None:
    first = publish(company, task(crew, house, "2026-03-02 08:00"))
    before = Visit.objects.values().get()
    again = publish_plan(company=company, now=NOW + HOUR)
    assert (again.publication, again.is_new) == (first.publication, False)
    assert again.unchanged == 1
    assert Visit.objects.values().get() == before


def test_another_plan_that_changes_no_visit_touches_none(
    company: Company, crew: Crew, house: House
) -> None:
    publish(company, task(crew, house, "2026-03-02 08:00"))
    before = Visit.objects.values().get()
    again = publish(company, task(crew, house, "2026-03-02 08:00"), now=NOW + HOUR)
    assert (again.publication.revision, again.unchanged) == (2, 1)
    assert Visit.objects.values().get() == before


def test_a_moved_visit_keeps_its_uid(company: Company, crew: Crew, house: House) -> None:
    publish(company, task(crew, house, "2026-03-02 08:00"))
    uid = only_visit().uid
    result = publish(company, task(crew, house, "2026-03-04 10:00"), now=NOW + HOUR)
    visit = only_visit()
    assert result.moved == (visit,)
    assert (visit.uid, visit.sequence, visit.modified_at) == (uid, 1, NOW + HOUR)
    assert visit.starts_at == local("2026-03-04 10:00")
    assert visit.created_at == NOW


def test_other_content_at_the_same_time_is_a_change(
    company: Company, crew: Crew, house: House
) -> None:
    publish(company, task(crew, house, "2026-03-02 08:00"))
    result = publish(
        company, task(crew, house, "2026-03-02 08:00", tools=["knife_150", "lamp"]), now=NOW + HOUR
    )
    assert len(result.moved) == 1
    assert only_visit().sequence == 1


def test_another_name_of_the_crew_is_a_change(company: Company, crew: Crew, house: House) -> None:
    """It is in titles of the company's calendar, which programs follow by the visit's stamp."""
    publish(company, task(crew, house, "2026-03-02 08:00"))
    crew.name = "Harbour crew"
    crew.save()
    publish(company, task(crew, house, "2026-03-02 08:00"), now=NOW + HOUR)
    assert (only_visit().sequence, only_visit().modified_at) == (1, NOW + HOUR)
    link = blank_link(company=company)
    (event,) = events_of(link, NOW.date())
    assert str(event["summary"]) == "Harbour crew: Mill Cottage: Tape coat · Ground floor"
    crew.name = "Quay crew"
    crew.save()
    assert events_of(link, NOW.date())[0]["summary"] == event["summary"], "not published yet"


def test_a_visit_told_before_names_of_crews_were_kept_is_as_it_was(
    company: Company, crew: Crew, house: House
) -> None:
    publish(company, task(crew, house, "2026-03-02 08:00"))
    visit = only_visit()
    del visit.content["crew"]
    visit.save()
    result = publish(company, task(crew, house, "2026-03-02 08:00"), now=NOW + HOUR)
    assert result.unchanged == 1


def test_an_undone_change_still_rises(company: Company, crew: Crew, house: House) -> None:
    """Clients ignore what is not later than what they have, also within one second."""
    stamps = []
    for start in ("2026-03-02 08:00", "2026-03-03 08:00", "2026-03-02 08:00"):
        publish(company, task(crew, house, start))
        stamps.append((only_visit().sequence, only_visit().modified_at))
    second = timedelta(seconds=1)
    assert stamps == [(0, NOW), (1, NOW + second), (2, NOW + 2 * second)]


def test_a_split_leaves_the_uid_with_the_larger_part(
    company: Company, crew: Crew, house: House
) -> None:
    publish(
        company,
        task(crew, house, "2026-03-02 08:00", minutes=60, room="Hall"),
        task(crew, house, "2026-03-02 09:00", minutes=180, room="Kitchen"),
    )
    uid = only_visit().uid
    result = publish(
        company,
        task(crew, house, "2026-03-02 08:00", minutes=60, room="Hall"),
        task(crew, house, "2026-03-03 08:00", minutes=180, room="Kitchen"),
    )
    assert Visit.objects.get(uid=uid).starts_at == local("2026-03-03 08:00")
    assert [visit.starts_at for visit in result.new] == [local("2026-03-02 08:00")]
    assert result.cancelled == ()


def test_a_merge_cancels_the_smaller_part(company: Company, crew: Crew, house: House) -> None:
    publish(
        company,
        task(crew, house, "2026-03-02 08:00", minutes=60, room="Hall"),
        task(crew, house, "2026-03-03 08:00", minutes=180, room="Kitchen"),
    )
    small, large = Visit.objects.all()
    result = publish(
        company,
        task(crew, house, "2026-03-03 08:00", minutes=180, room="Kitchen"),
        task(crew, house, "2026-03-03 11:00", minutes=60, room="Hall"),
        now=NOW + HOUR,
    )
    assert (result.cancelled, result.moved, result.new) == ((small,), (large,), ())
    small.refresh_from_db()
    assert (small.cancelled_at, small.modified_at, small.sequence) == (NOW + HOUR, NOW + HOUR, 1)


def test_another_crew_is_a_cancellation_and_a_new_visit(
    company: Company, crew: Crew, house: House
) -> None:
    publish(company, task(crew, house, "2026-03-02 08:00"))
    other = make_crew(company, "South crew")
    result = publish(company, task(other, house, "2026-03-02 08:00"))
    assert [visit.crew for visit in result.cancelled] == [crew]
    assert [visit.crew for visit in result.new] == [other]
    assert result.new[0].uid != result.cancelled[0].uid


def test_what_was_cancelled_and_comes_back_is_the_same_entry(
    company: Company, crew: Crew, house: House
) -> None:
    publish(company, task(crew, house, "2026-03-02 08:00"))
    uid = only_visit().uid
    publish(company)
    assert only_visit().cancelled_at is not None
    result = publish(company, task(crew, house, "2026-03-02 08:00"))
    visit = only_visit()
    assert result.new == (visit,)
    assert (visit.uid, visit.sequence, visit.cancelled_at) == (uid, 2, None)


def test_ended_visits_stay_and_begun_ones_are_not_called_off(
    company: Company, crew: Crew, house: House
) -> None:
    publish(
        company,
        task(crew, house, "2026-03-02 08:00", room="Hall"),
        task(crew, house, "2026-03-02 12:00", room="Kitchen"),
    )
    before = list(Visit.objects.values())
    result = publish(company, now=local("2026-03-02 12:30"))
    assert list(Visit.objects.values()) == before
    assert result.cancelled == ()
    assert publish(company, task(crew, house, "2026-03-02 08:00"), now=NOW + 2 * HOUR).new == ()


def test_another_company_is_left_alone(company: Company, crew: Crew, house: House) -> None:
    publish(company, task(crew, house, "2026-03-02 08:00"))
    other = make_company("Other Finishing")
    make_plan(other)
    publish_plan(company=other, now=NOW)
    assert only_visit().cancelled_at is None
    assert Publication.objects.get(company=other).revision == 1


def test_a_crew_in_two_places_is_refused(company: Company, crew: Crew, house: House) -> None:
    other = make_house(company, "Weir House")
    with pytest.raises(PublishError, match="Mill Cottage and at Weir House at 2026-03-02 09:00"):
        publish(
            company,
            task(crew, house, "2026-03-02 08:00"),
            task(crew, other, "2026-03-02 09:00"),
        )
    assert not Publication.objects.exists()


def test_an_unknown_status_is_refused(company: Company) -> None:
    make_plan(company, status="guessed")
    with pytest.raises(PublishError, match="guessed"):
        publish_plan(company=company, now=NOW)
