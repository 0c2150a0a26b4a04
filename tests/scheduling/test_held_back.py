"""No work of today and tomorrow is published while its house is not ready for it."""

from datetime import UTC, date, datetime

import pytest

from finishing.models import Company, Crew, House, ReadinessLine
from finishing.rules.vocabulary import Readiness, Stage
from scheduling.models import PlannedTask, Visit
from scheduling.services.publish import PublishResult, publish_plan
from tests.factories import make_company, make_crew, make_house, make_plan, task

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 3, 1, 18, tzinfo=UTC)
"""A Sunday evening."""


@pytest.fixture
def company() -> Company:
    return make_company()


@pytest.fixture
def crew(company: Company) -> Crew:
    return make_crew(company)


@pytest.fixture
def house(company: Company) -> House:
    return make_house(company)


def publish(company: Company, *tasks: PlannedTask) -> PublishResult:
    make_plan(company, tasks)
    return publish_plan(company=company, now=NOW)


@pytest.mark.parametrize(
    ("start", "item", "stage"),
    [
        ("2026-03-02 08:00", Readiness.POWER, Stage.TAPE),
        ("2026-03-01 21:00", Readiness.WAY_IN, Stage.SAND),
        ("2026-03-02 08:00", Readiness.PRIMED, Stage.PRIMER_TOUCH_UP),
        ("2026-03-02 08:00", Readiness.TRADES_DONE, Stage.TRADES_TOUCH_UP),
    ],
)
def test_no_visit_of_today_and_tomorrow_while_the_house_is_not_ready(
    crew: Crew, house: House, start: str, item: str, stage: str
) -> None:
    line = ReadinessLine.objects.create(company=crew.company, house=house, item=item)
    result = publish(crew.company, task(crew, house, start, stage=stage))
    assert [held.items for held in result.held_back] == [(item,)]
    assert not Visit.objects.exists()
    line.done = True
    line.save()
    assert len(publish_plan(company=crew.company, now=NOW).new) == 1


@pytest.mark.parametrize(
    ("start", "item", "stage"),
    [
        ("2026-03-03 08:00", Readiness.POWER, Stage.TAPE),  # later than tomorrow
        ("2026-03-02 08:00", Readiness.PRIMED, Stage.TAPE),  # not needed
        ("2026-03-02 08:00", Readiness.HEAT, "odd_job"),
    ],
)
def test_other_open_lines_hold_nothing_back(
    crew: Crew, house: House, start: str, item: str, stage: str
) -> None:
    ReadinessLine.objects.create(company=crew.company, house=house, item=item)
    result = publish(crew.company, task(crew, house, start, stage=stage))
    assert (len(result.new), result.held_back) == (1, ())


def test_today_and_tomorrow_are_days_of_the_crew(company: Company, house: House) -> None:
    """18:00 UTC on Sunday is Monday 07:00 in Auckland (+13): there Tuesday is tomorrow."""
    crew = make_crew(company, zone="Pacific/Auckland")
    ReadinessLine.objects.create(
        company=company, house=house, item=Readiness.POWER, expected_on=date(2026, 3, 1)
    )
    result = publish(company, task(crew, house, "2026-03-03 14:00"))
    assert len(result.held_back) == 1


def test_a_published_visit_is_called_off_when_the_house_is_not_ready(
    company: Company, crew: Crew, house: House
) -> None:
    publish(company, task(crew, house, "2026-03-02 08:00"))
    ReadinessLine.objects.create(company=company, house=house, item=Readiness.POWER)
    result = publish_plan(company=company, now=NOW)
    assert result.is_new
    assert len(result.cancelled) == len(result.held_back) == 1


def test_what_comes_over_held_back_work_is_held_back_too(crew: Crew, house: House) -> None:
    line = ReadinessLine.objects.create(company=crew.company, house=house, item="power")
    result = publish(
        crew.company,
        task(crew, house, "2026-03-02 08:00", stage=Stage.TAPE),
        task(crew, house, "2026-03-05 08:00", stage=Stage.SECOND),
    )
    assert [held.items for held in result.held_back] == [("power",), ()]
    assert not Visit.objects.exists()
    line.done = True
    line.save()
    assert len(publish_plan(company=crew.company, now=NOW).new) == 2
