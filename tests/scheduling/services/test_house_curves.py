"""How the coats of a house dry, as pages draw it: by the law, by the plan, room by room."""

from datetime import datetime, timedelta

import numpy as np
import pytest

from finishing.models import AirSource, Company, House
from finishing.rules.vocabulary import Stage
from finishing.services.air import Reading, put_air_source, store_air
from scheduling.models import Plan, Report
from scheduling.services.coat_curves import CoatCurve
from scheduling.services.house_curves import HouseCurves, house_curves
from scheduling.services.named_work import WorkName, find_work
from scheduling.services.reports import Statement, report_work
from tests.factories import make_company, make_house
from tests.plans import published_from, task_of
from tests.sites import MONDAY, make_site, steady_air, utc

pytestmark = pytest.mark.django_db(transaction=True)

HOUR = timedelta(hours=1)
LAW_HOURS = 17.74
"""At 20 C and 50 %: 23.0 / (2.339 kPa ^ 1.04 x 0.5 ^ 0.90); 2.339 kPa is what steam tables give
for the saturation pressure at 20 C."""


@pytest.fixture
def site() -> tuple[Company, House, Plan]:
    """A room in drying compound in an open shell, in 20 C and 50 %: taped on Monday, coated on
    Tuesday and Wednesday, sanded on Thursday; published."""
    company, house = make_site(system="All-purpose drying")
    return company, house, published_from(company, MONDAY)


def curves(company: Company, house: House, now: datetime = MONDAY) -> HouseCurves:
    found = house_curves(company=company, house=house, now=now)
    assert found is not None
    return found


def coat_of(found: HouseCurves, stage: Stage) -> CoatCurve:
    return next(coat for room in found.rooms for coat in room.coats if coat.stage == stage)


def share_at(coat: CoatCurve, moment: datetime) -> float:
    """Return how dry a coat is at a moment, read off its line."""
    hours = [(at - coat.ended_at) / HOUR for at, _ in coat.dryness]
    shares = [share for _, share in coat.dryness]
    return float(np.interp((moment - coat.ended_at) / HOUR, hours, shares))


def humid_forecast(company: Company) -> None:
    source = put_air_source(company=company, name="Forecast", kind=AirSource.Kind.FORECAST)
    first = utc("2026-03-02 00:00")
    store_air(source=source, readings={first + n * HOUR: Reading(14.0, 0.9) for n in range(168)})


def test_a_coat_dries_by_the_law_from_the_end_of_its_work(
    site: tuple[Company, House, Plan],
) -> None:
    company, house, plan = site
    tape = coat_of(curves(company, house), Stage.TAPE)
    assert tape.ended_at == task_of(plan, Stage.TAPE).ends_at
    assert tape.dryness[0] == (tape.ended_at, 0.0)
    assert share_at(tape, tape.ended_at + 10 * HOUR) == pytest.approx(10 / LAW_HOURS, abs=0.001)
    for share in (0.25, 0.5, 0.75, 1.0):
        hours = (tape.at_share[share] - tape.ended_at) / HOUR
        assert hours == pytest.approx(share * LAW_HOURS, abs=0.01)


def test_a_thinner_coat_is_dry_so_much_sooner(site: tuple[Company, House, Plan]) -> None:
    """A finish coat of 0.8 mm beside the table's of 1.8 mm."""
    company, house, _ = site
    finish = coat_of(curves(company, house), Stage.FINISH)
    hours = (finish.at_share[1.0] - finish.ended_at) / HOUR
    assert hours == pytest.approx(LAW_HOURS * 0.8 / 1.8, abs=0.01)


def test_a_coat_is_ready_when_the_plan_says_and_dry_by_then(
    site: tuple[Company, House, Plan],
) -> None:
    company, house, plan = site
    (room,) = curves(company, house).rooms
    assert [coat.stage for coat in room.coats] == [Stage.TAPE, Stage.SECOND, Stage.FINISH]
    for coat in room.coats:
        task = task_of(plan, coat.stage)
        assert coat.ready_at is not None
        assert coat.ready_at == task.ready_at
        assert coat.governs == task.details["leaves"]["governs"] == "rule"
        assert coat.least_at == coat.ended_at + 24 * HOUR
        assert coat.dryness[-1][0] <= coat.ready_at
        assert coat.dryness[-1][1] == pytest.approx(1.0)
    following = [Stage.SECOND, Stage.FINISH, Stage.SAND]
    assert [coat.following for coat in room.coats] == following
    assert [coat.next_at for coat in room.coats] == [
        task_of(plan, stage).starts_at for stage in following
    ]


@pytest.mark.parametrize(("temperature_c", "humidity"), [(14.0, 0.8), (18.0, 0.85), (23.0, 0.9)])
def test_in_humid_air_a_coat_is_ready_when_it_is_dry(temperature_c: float, humidity: float) -> None:
    company, house = make_site(
        system="All-purpose drying", temperature_c=temperature_c, humidity=humidity
    )
    plan = published_from(company, MONDAY)
    coats = curves(company, house).rooms[0].coats
    assert coats[0].governs == "air"
    for coat in coats:
        assert coat.ready_at is not None
        assert coat.ready_at == task_of(plan, coat.stage).ready_at
        assert share_at(coat, coat.ready_at) == pytest.approx(1.0)
        dry, least = coat.at_share[1.0], coat.least_at
        assert least is not None
        assert timedelta() <= coat.ready_at - max(dry, least) <= HOUR
        assert coat.next_at is not None
        assert coat.next_at >= coat.ready_at


def test_newer_air_moves_the_hour_and_the_plan_comes_before_it(
    site: tuple[Company, House, Plan],
) -> None:
    company, house, plan = site
    humid_forecast(company)
    tape = coat_of(curves(company, house), Stage.TAPE)
    assert (tape.governs, tape.air) == ("air", "forecast")
    assert tape.ready_at is not None
    assert tape.next_at == task_of(plan, Stage.SECOND).starts_at < tape.ready_at
    end, share = tape.dryness[-1]
    assert end == task_of(plan, Stage.SECOND).ends_at, "the next coat covers it"
    assert 0 < share < 1
    assert 1.0 not in tape.at_share


def test_a_coat_put_on_a_wet_one_dries_with_what_is_left_of_it(
    site: tuple[Company, House, Plan],
) -> None:
    company, house, _ = site
    humid_forecast(company)
    found = curves(company, house)
    tape, second = coat_of(found, Stage.TAPE), coat_of(found, Stage.SECOND)
    # Amounts are 1 for tape and 1.4 / 1.8 for the second coat, in air that is the same all week:
    # the slopes are the inverse of what there is to dry.
    hours = (tape.dryness[-1][0] - tape.ended_at) / HOUR
    slope = tape.dryness[-1][1] / hours
    left = 1 - tape.dryness[-1][1] + 1.4 / 1.8
    assert share_at(second, second.ended_at + 10 * HOUR) == pytest.approx(10 * slope / left)


def test_coats_that_are_dry_are_left_out(site: tuple[Company, House, Plan]) -> None:
    company, house, _ = site
    tape = coat_of(curves(company, house), Stage.TAPE)
    wet = curves(company, house, now=tape.at_share[1.0] - HOUR).rooms[0]
    assert wet.coats[0].stage == Stage.TAPE
    assert wet.coats[0].at_share == tape.at_share, "as it was planned"
    dry = curves(company, house, now=tape.at_share[1.0] + HOUR).rooms[0]
    assert dry.coats[0].stage == Stage.SECOND


def test_a_coat_found_wet_is_ready_at_the_next_look(site: tuple[Company, House, Plan]) -> None:
    company, house, plan = site
    second = task_of(plan, Stage.SECOND)
    found_at = task_of(plan, Stage.TAPE).ends_at + 12 * HOUR
    work = find_work(company=company, name=WorkName("Mill Cottage", "tape", [], []))
    again = second.starts_at + 20 * HOUR
    said = Statement(Report.Kind.NOT_DRY, found_at, None, again, None)
    report_work(company=company, crew=second.crew, work=work, said=said, now=found_at)
    tape = coat_of(curves(company, house, now=found_at), Stage.TAPE)
    assert (tape.ready_at, tape.governs) == (again, "recheck")


def test_setting_coats_are_ready_when_set_and_the_last_when_all_is_dry() -> None:
    company, house = make_site(system="Setting base with drying topping")
    published_from(company, MONDAY)
    (room,) = curves(company, house).rooms
    tape, last = room.coats[0], room.coats[-1]
    assert tape.governs == "set"
    assert tape.ready_at == tape.least_at
    assert tape.ready_at is not None
    assert share_at(tape, tape.ready_at) < 0.3
    assert last.ready_at is not None
    assert last.at_share[1.0] <= last.ready_at


def test_water_of_the_house_goes_to_nothing_as_its_coats_dry() -> None:
    company, house = make_site(
        system="All-purpose drying", heating="heated", setpoint_c=18.0, volume_m3=60.0
    )
    plan = published_from(company, MONDAY)
    found = curves(company, house)
    first = (task_of(plan, Stage.TAPE).ends_at - found.air.first) // HOUR
    assert found.air.in_coats_kg[first - 1] == 0.0
    assert found.air.in_coats_kg.max() > 0.0
    last = (task_of(plan, Stage.SAND).ends_at - found.air.first) // HOUR
    assert found.air.in_coats_kg[last + 240] == pytest.approx(0.0, abs=1e-6)
    assert found.air.in_coats_kg.min() == 0.0


def test_a_house_without_a_plan_has_air_and_no_coats() -> None:
    company, house = make_site()
    found = curves(company, house)
    assert found.rooms == ()
    assert set(found.air.kinds) == {"record", "assumed"}
    assert len(found.air.kinds) == len(found.air.temperature_c) == len(found.air.humidity)


def test_a_house_without_air_has_nothing_to_draw() -> None:
    company, house = make_site()
    AirSource.objects.all().delete()
    assert house_curves(company=company, house=house, now=MONDAY) is None


def test_only_the_companys_own_plan_and_air_count(site: tuple[Company, House, Plan]) -> None:
    company, house, _ = site
    other = make_company("Other Finishing")
    make_house(other)
    before = curves(company, house)
    steady_air(other, temperature_c=12.0, humidity=0.9)
    after = curves(company, house)
    assert before.rooms == after.rooms
    assert np.array_equal(before.air.temperature_c, after.air.temperature_c)
