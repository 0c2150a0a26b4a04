"""Published visits and newer air: which of them arrive before the coat is dry."""

from datetime import timedelta

import numpy as np
import pytest

from finishing.models import AirSource, Company, House
from finishing.rules.drying import STAGE_THICKNESS_MM, dry_at, progress, thickness_amount
from finishing.rules.vocabulary import Stage
from finishing.services.air import Reading, put_air_source, store_air
from scheduling.models import Plan, Report, Visit
from scheduling.services.named_work import WorkName, find_work
from scheduling.services.reports import Statement, report_work
from scheduling.services.wet_visits import WetVisit, wet_visits
from tests.factories import local, make_company
from tests.plans import published_from, task_of
from tests.sites import MONDAY, make_site, utc

pytestmark = pytest.mark.django_db(transaction=True)

HUMID = Reading(14.0, 0.9)
HOUR = timedelta(hours=1)
MONDAY_EVENING = local("2026-03-02 16:00")


@pytest.fixture
def site() -> tuple[Company, House, Plan]:
    """A room in drying compound, in 20 C and 50 % as recorded: taped on Monday, coated on Tuesday
    and Wednesday, sanded on Thursday; published."""
    company, house = make_site(system="All-purpose drying")
    return company, house, published_from(company, MONDAY)


def forecast(company: Company, reading: Reading, *, hours: int = 7 * 24) -> None:
    source = put_air_source(company=company, name="Forecast", kind=AirSource.Kind.FORECAST)
    first = utc("2026-03-02 00:00")
    store_air(source=source, readings={first + step * HOUR: reading for step in range(hours)})


def told(found: list[WetVisit]) -> list[tuple[str, str, str, str]]:
    return [(coat.room, coat.stage, coat.coat, coat.air) for wet in found for coat in wet.coats]


def test_dry_air_leaves_every_visit_in_time(site: tuple[Company, House, Plan]) -> None:
    company, _, _ = site
    assert wet_visits(company=company, now=MONDAY) == []
    forecast(company, Reading(22.0, 0.4))
    assert wet_visits(company=company, now=MONDAY) == []


def test_a_humid_forecast_after_publication_names_the_visits_it_makes_too_early(
    site: tuple[Company, House, Plan],
) -> None:
    company, house, plan = site
    forecast(company, HUMID)
    found = wet_visits(company=company, now=MONDAY)
    assert told(found) == [
        ("Hall", Stage.SECOND, Stage.TAPE, "forecast"),
        ("Hall", Stage.FINISH, Stage.SECOND, "forecast"),
        ("Hall", Stage.SAND, Stage.FINISH, "forecast"),
    ]
    assert [wet.visit.starts_at.date().isoformat() for wet in found] == [
        "2026-03-03", "2026-03-04", "2026-03-05",
    ]  # fmt: skip
    assert {wet.visit.house for wet in found} == {house}
    # The hours stand on the law, applied to the humid air alone, up to the next tick.
    air = progress(np.full(24 * 30, 14.0), np.full(24 * 30, 0.9))
    for wet in found:
        [coat] = wet.coats
        since = (task_of(plan, Stage(coat.coat)).ends_at - utc("2026-03-02 00:00")) / HOUR
        amount = thickness_amount(STAGE_THICKNESS_MM[Stage(coat.coat)])
        dry = utc("2026-03-02 00:00") + HOUR * float(dry_at(air, np.array([since]), amount)[0])
        assert dry <= coat.ready_at <= dry + HOUR
        assert coat.ready_at > task_of(plan, Stage(coat.stage)).starts_at


def test_a_short_humid_forecast_leaves_the_rest_assumed(site: tuple[Company, House, Plan]) -> None:
    company, _, _ = site
    AirSource.objects.filter(name="Station").delete()
    forecast(company, HUMID, hours=48)
    assert [air for *_, air in told(wet_visits(company=company, now=MONDAY))] == ["assumed"] * 3


def test_a_coat_that_is_on_counts_from_when_it_ended(site: tuple[Company, House, Plan]) -> None:
    company, _, _ = site
    forecast(company, HUMID)
    first = wet_visits(company=company, now=MONDAY_EVENING)[0].coats[0]
    assert (first.stage, first.coat, first.reason) == (Stage.SECOND, Stage.TAPE, "air")
    # Until four o'clock the air was as recorded, 20 C and 50 %, which dried some of it.
    assert first.ready_at < wet_visits(company=company, now=MONDAY)[0].coats[0].ready_at


def test_visits_that_have_begun_are_not_to_come(site: tuple[Company, House, Plan]) -> None:
    company, _, plan = site
    forecast(company, HUMID)
    begun = task_of(plan, Stage.SECOND).starts_at + timedelta(minutes=5)
    stages = [stage for _, stage, *_ in told(wet_visits(company=company, now=begun))]
    assert stages == [Stage.FINISH, Stage.SAND]


def test_visits_called_off_are_not_listed(site: tuple[Company, House, Plan]) -> None:
    company, _, plan = site
    forecast(company, HUMID)
    start = task_of(plan, Stage.SAND).starts_at
    Visit.objects.filter(starts_at__lte=start, ends_at__gte=start).update(cancelled_at=MONDAY)
    stages = [stage for _, stage, *_ in told(wet_visits(company=company, now=MONDAY))]
    assert stages == [Stage.SECOND, Stage.FINISH]


def test_a_coat_found_wet_is_listed_until_the_next_look(site: tuple[Company, House, Plan]) -> None:
    company, _, plan = site
    second = task_of(plan, Stage.SECOND)
    look = second.starts_at - timedelta(hours=1)
    work = find_work(company=company, name=WorkName("Mill Cottage", "tape", [], []))
    said = Statement(Report.Kind.NOT_DRY, look, None, look + timedelta(hours=20), None)
    report_work(company=company, crew=second.crew, work=work, said=said, now=look)
    [wet] = wet_visits(company=company, now=look)
    assert [(coat.stage, coat.reason, coat.air) for coat in wet.coats] == [
        (Stage.SECOND, "recheck", "")
    ]
    assert wet.coats[0].ready_at == look + timedelta(hours=20)


def test_another_company_sees_nothing(site: tuple[Company, House, Plan]) -> None:
    company, _, _ = site
    forecast(company, HUMID)
    assert wet_visits(company=make_company("Other Finishing"), now=MONDAY) == []


def cold_from(company: Company, first: str, *, celsius: float) -> None:
    """Forecast the air on record until an hour, and then other air."""
    source = put_air_source(company=company, name="Forecast", kind=AirSource.Kind.FORECAST)
    midnight, turn = utc("2026-03-02 00:00"), utc(first)
    hours = [midnight + step * HOUR for step in range(7 * 24)]
    air = {at: Reading(celsius if at >= turn else 20.0, 0.5) for at in hours}
    store_air(source=source, readings=air)


@pytest.mark.parametrize(
    ("celsius", "code", "limit_c"),
    # ASTM C840 section 4 (read): 10 C or more until dry, and at most 35 C.
    [(9.0, "too_cold", 10.0), (36.0, "too_hot", 35.0)],
)
def test_coats_that_fall_into_air_unfit_for_them_are_named(
    site: tuple[Company, House, Plan], celsius: float, code: str, limit_c: float
) -> None:
    company, _, plan = site
    finish = task_of(plan, Stage.FINISH)
    turn = finish.starts_at.replace(hour=0, minute=0) + timedelta(hours=12)
    assert finish.starts_at < turn < finish.ends_at + timedelta(hours=24), "while it dries"
    cold_from(company, f"{turn:%Y-%m-%d %H:%M}", celsius=celsius)
    found = wet_visits(company=company, now=MONDAY)
    told = [(air.room, air.stage, air.code) for visit in found for air in visit.unfit]
    assert told == [("Hall", Stage.FINISH, code)], "the second coat is dry by then"
    [air] = [air for visit in found for air in visit.unfit]
    assert (air.hour, air.temperature_c, air.limit_c) == (turn, celsius, limit_c)
    assert air.air == "forecast"


def test_air_that_turns_cold_once_all_is_dry_harms_no_coat(
    site: tuple[Company, House, Plan],
) -> None:
    company, _, plan = site
    sanded = task_of(plan, Stage.SAND).ends_at
    cold_from(company, f"{sanded + HOUR:%Y-%m-%d %H:00}", celsius=5.0)
    assert wet_visits(company=company, now=MONDAY) == []
