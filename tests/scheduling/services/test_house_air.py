"""The air of a house: which source counts in which hour, and what each hour rests on."""

from collections.abc import Mapping
from datetime import datetime, timedelta

import pytest

from finishing.models import AirSource, Company, House
from finishing.queries.air_sources import CompanyAir
from finishing.services.air import Reading, put_air_source, store_air
from scheduling.services.house_air import HouseAir, assumed_from, house_air
from scheduling.services.stored_air import READING_HOLDS_HOURS
from scheduling.services.timeline import Timeline
from tests.factories import make_company, make_house
from tests.sites import utc

pytestmark = pytest.mark.django_db

NOW = utc("2026-03-10 10:00")
TIMELINE = Timeline(utc("2026-03-05 00:00"), 20 * 24 * 12)
HOUR = timedelta(hours=1)


@pytest.fixture
def company() -> Company:
    return make_company()


@pytest.fixture
def house(company: Company) -> House:
    return make_house(company)


def source(company: Company, kind: AirSource.Kind, house: House | None = None) -> AirSource:
    made = put_air_source(company=company, name=kind, kind=kind)
    if kind is AirSource.Kind.READINGS:
        made.house = house
        made.save()
    elif house:
        house.air_source = made
    return made


def steady(first: str, last: str, temperature_c: float) -> dict[datetime, Reading]:
    hours = round((utc(last) - utc(first)) / HOUR)
    return {utc(first) + step * HOUR: Reading(temperature_c, 0.5) for step in range(hours)}


def put(source: AirSource, readings: Mapping[datetime, Reading]) -> None:
    store_air(source=source, readings=readings)


def record(company: Company) -> None:
    put(source(company, AirSource.Kind.STATION), steady("2026-03-01 00:00", "2026-03-12 00:00", 10))


def forecast(company: Company) -> None:
    put(
        source(company, AirSource.Kind.FORECAST),
        steady("2026-03-08 00:00", "2026-03-15 00:00", 20),
    )


def air_of(house: House) -> HouseAir:
    air = house_air(house, CompanyAir(house.company).of(house), TIMELINE, NOW)
    assert air is not None
    return air


def at(air: HouseAir, moment: str) -> tuple[float, str]:
    """Return the temperature of an hour and what it rests on."""
    hour = (utc(moment) - TIMELINE.origin) // HOUR
    return air.temperature_c[hour], air.source_between(hour * 12, hour * 12 + 12)


def test_hours_to_come_are_the_forecasts_and_hours_gone_by_the_records(
    company: Company, house: House
) -> None:
    record(company)
    forecast(company)
    air = air_of(house)
    assert at(air, "2026-03-10 09:00") == (10, "record")
    assert at(air, "2026-03-10 10:00") == (20, "forecast")
    assert at(air, "2026-03-14 23:00") == (20, "forecast")


def test_what_was_forecast_stands_where_no_record_says_more(company: Company, house: House) -> None:
    forecast(company)
    air = air_of(house)
    assert at(air, "2026-03-09 12:00") == (20, "forecast")
    assert at(air, "2026-03-06 12:00") == (20, "assumed")


def test_past_the_forecast_the_mean_of_the_last_seven_days_known(
    company: Company, house: House
) -> None:
    """Of 8 to 14 March: two days and ten hours on record at 10 C, the rest forecast at 20 C."""
    record(company)
    forecast(company)
    air = air_of(house)
    assert assumed_from(air, TIMELINE) == utc("2026-03-15 00:00")
    for moment, mean in (("09:00", (3 * 10 + 4 * 20) / 7), ("10:00", (2 * 10 + 5 * 20) / 7)):
        temperature_c, kind = at(air, f"2026-03-15 {moment}")
        assert temperature_c == pytest.approx(mean)
        assert kind == "assumed"


def test_a_reading_stands_for_its_house_for_some_hours(company: Company, house: House) -> None:
    record(company)
    forecast(company)
    readings = source(company, AirSource.Kind.READINGS, house)
    put(readings, {utc("2026-03-10 07:00"): Reading(15, 0.6)})
    air = air_of(house)
    last = utc("2026-03-10 07:00") + (READING_HOLDS_HOURS - 1) * HOUR
    assert at(air, "2026-03-10 06:00") == (10, "record")
    assert at(air, "2026-03-10 07:00") == (15, "reading")
    assert at(air, f"{last:%Y-%m-%d %H:%M}") == (15, "reading")
    assert at(air, f"{last + HOUR:%Y-%m-%d %H:%M}") == (20, "forecast")
    other = make_house(company, "Weir House")
    assert at(air_of(other), "2026-03-10 07:00") == (10, "record")


def test_a_later_reading_ends_the_one_before(company: Company, house: House) -> None:
    record(company)
    readings = source(company, AirSource.Kind.READINGS, house)
    put(
        readings,
        {utc("2026-03-10 07:00"): Reading(15, 0.6), utc("2026-03-10 09:00"): Reading(16, 0.6)},
    )
    air = air_of(house)
    assert [at(air, f"2026-03-10 {hour:02}:00")[0] for hour in (8, 9, 14)] == [15, 16, 16]


def test_a_logger_comes_before_all_but_a_reading_of_the_same_hour(
    company: Company, house: House
) -> None:
    record(company)
    forecast(company)
    put(
        source(company, AirSource.Kind.LOGGER, house),
        steady("2026-03-04 00:00", "2026-03-10 09:00", 17),
    )
    put(
        source(company, AirSource.Kind.READINGS, house), {utc("2026-03-10 07:00"): Reading(15, 0.6)}
    )
    air = air_of(house)
    assert at(air, "2026-03-10 06:00") == (17, "logger")
    assert at(air, "2026-03-10 07:00") == (15, "reading")
    assert at(air, "2026-03-10 08:00") == (17, "logger")
    assert at(air, "2026-03-10 09:00") == (15, "reading")
    assert at(air, "2026-03-11 12:00") == (20, "forecast")


def test_past_all_that_is_known_a_logged_house_goes_on_as_it_was_logged(
    company: Company, house: House
) -> None:
    record(company)
    put(
        source(company, AirSource.Kind.LOGGER, house),
        steady("2026-03-04 00:00", "2026-03-10 09:00", 17),
    )
    air = air_of(house)
    assert at(air, "2026-03-11 23:00") == (10, "record")
    assert at(air, "2026-03-12 00:00") == (17, "assumed")


def test_heating_warms_outdoor_air_but_not_what_was_measured_inside(
    company: Company, house: House
) -> None:
    house.heating, house.setpoint_c = "heated", 21
    record(company)
    put(
        source(company, AirSource.Kind.READINGS, house), {utc("2026-03-10 07:00"): Reading(15, 0.6)}
    )
    air = air_of(house)
    assert at(air, "2026-03-10 06:00") == (21, "record")
    assert at(air, "2026-03-10 07:00") == (15, "reading")
    assert at(air, "2026-03-20 06:00") == (21, "assumed")


def test_air_is_as_firm_as_its_least_firm_hour(company: Company, house: House) -> None:
    record(company)
    forecast(company)
    air = air_of(house)

    def between(first: str, last: str) -> str:
        ticks = [TIMELINE.tick_after(utc(moment)) for moment in (first, last)]
        return air.source_between(*ticks)

    assert between("2026-03-10 06:00", "2026-03-10 10:00") == "record"
    assert between("2026-03-10 06:00", "2026-03-10 10:05") == "forecast"
    assert between("2026-03-10 06:00", "2026-03-15 00:05") == "assumed"
    assert between("2026-03-10 06:00", "2026-03-10 06:00") == "record"


@pytest.mark.parametrize("hours", [0, 23])
def test_no_house_is_planned_on_less_than_a_day_of_air(
    company: Company, house: House, hours: int
) -> None:
    made = source(company, AirSource.Kind.FORECAST)
    put(made, dict(list(steady("2026-03-10 00:00", "2026-03-11 00:00", 20).items())[:hours]))
    readings = source(company, AirSource.Kind.READINGS, house)
    put(readings, {utc("2026-03-10 07:00"): Reading(15, 0.6)})
    assert house_air(house, CompanyAir(company).of(house), TIMELINE, NOW) is None


def test_a_record_from_long_ago_is_still_what_is_assumed(company: Company, house: House) -> None:
    put(source(company, AirSource.Kind.STATION), steady("2025-03-01 00:00", "2025-03-12 00:00", 10))
    assert at(air_of(house), "2026-03-10 12:00") == (10, "assumed")
