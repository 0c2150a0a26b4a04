"""The air of a house: which source counts in which hour, and what each hour rests on."""

from collections.abc import Mapping
from datetime import datetime, timedelta

import numpy as np
import pytest
from pytest_django import DjangoAssertNumQueries

from finishing.models import AirSource, Company, House
from finishing.queries.air_sources import CompanyAir, HouseSources
from finishing.services.air import Reading, put_air_source, store_air
from scheduling.services.house_air import HouseAir, assumed_from
from scheduling.services.house_climates import WantedAir, house_airs
from scheduling.services.stored_air import StoredAir, recent_air
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
    stored = StoredAir(CompanyAir(house.company).of(house), TIMELINE, NOW)
    weather = stored.weather()
    assert weather is not None
    (air,) = house_airs(
        [WantedAir(house, stored, weather)], TIMELINE, now_hour=(NOW - TIMELINE.origin) // HOUR
    )
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


def test_a_reading_corrects_its_house_for_two_days(company: Company, house: House) -> None:
    """5 kelvin above the record fade evenly over 48 hours; for six of them the air is read."""
    record(company)
    readings = source(company, AirSource.Kind.READINGS, house)
    put(readings, {utc("2026-03-10 07:00"): Reading(15, 0.6)})
    air = air_of(house)
    assert at(air, "2026-03-10 06:00") == (10, "record")
    assert at(air, "2026-03-10 07:00") == (15, "reading")
    for hours, kind in ((5, "reading"), (6, "record")):
        temperature_c, said = at(air, f"2026-03-10 {7 + hours:02}:00")
        assert temperature_c == pytest.approx(10 + 5 * (1 - hours / 48))
        assert said == kind
    assert at(air, "2026-03-12 07:00") == (10, "assumed")
    other = make_house(company, "Weir House")
    assert at(air_of(other), "2026-03-10 07:00") == (10, "record")


def test_a_later_reading_takes_the_place_of_the_one_before(company: Company, house: House) -> None:
    record(company)
    readings = source(company, AirSource.Kind.READINGS, house)
    put(
        readings,
        {utc("2026-03-10 07:00"): Reading(15, 0.6), utc("2026-03-10 09:00"): Reading(16, 0.6)},
    )
    air = air_of(house)
    found = [at(air, f"2026-03-10 {hour:02}:00")[0] for hour in (8, 9, 10)]
    assert found == pytest.approx([10 + 5 * 47 / 48, 16, 10 + 6 * 47 / 48])


def test_drying_goes_by_the_corrected_air(company: Company, house: House) -> None:
    record(company)
    before = air_of(house).progress
    put(
        source(company, AirSource.Kind.READINGS, house), {utc("2026-03-10 07:00"): Reading(10, 0.9)}
    )
    after = air_of(house).progress
    hour = (utc("2026-03-10 07:00") - TIMELINE.origin) // HOUR
    assert after[hour] == before[hour]
    gained = (np.diff(after) / np.diff(before))[hour:]
    # (1 - 0.9)^0.9 / (1 - 0.5)^0.9 by the law in finishing/rules/drying.py
    assert gained[0] == pytest.approx(0.2**0.9)
    assert np.all(np.diff(gained[:49]) >= 0)
    assert gained[48] == 1


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
    assert at(air, "2026-03-10 09:00") == (10, "record")
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
    house.is_open, house.heating, house.setpoint_c = False, "heated", 21
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
    assert StoredAir(CompanyAir(company).of(house), TIMELINE, NOW).weather() is None


def test_a_record_from_long_ago_is_still_what_is_assumed(company: Company, house: House) -> None:
    put(source(company, AirSource.Kind.STATION), steady("2025-03-01 00:00", "2025-03-12 00:00", 10))
    assert at(air_of(house), "2026-03-10 12:00") == (10, "assumed")


def test_a_reading_today_does_not_hide_a_record_from_long_ago(
    company: Company, house: House
) -> None:
    put(source(company, AirSource.Kind.STATION), steady("2025-03-01 00:00", "2025-03-12 00:00", 10))
    readings = source(company, AirSource.Kind.READINGS, house)
    put(readings, {utc("2026-03-10 07:00"): Reading(15, 0.6)})
    assert at(air_of(house), "2026-03-10 07:00") == (15, "reading")
    assert at(air_of(house), "2026-03-20 12:00") == (10, "assumed")


def test_a_few_newer_hours_of_a_forecast_do_not_hide_a_record_from_long_ago(
    company: Company, house: House
) -> None:
    put(source(company, AirSource.Kind.STATION), steady("2025-03-01 00:00", "2025-03-12 00:00", 10))
    few = steady("2026-03-10 00:00", "2026-03-10 09:00", 20)
    put(source(company, AirSource.Kind.FORECAST), few)
    assert at(air_of(house), "2026-03-10 06:00") == (20, "forecast")
    assert at(air_of(house), "2026-03-20 23:00")[1] == "assumed"


def test_air_read_with_that_of_others_is_the_same_and_its_queries_are_not_by_source(
    company: Company, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    stations = [
        put_air_source(company=company, name=f"Station {number}", kind=AirSource.Kind.STATION)
        for number in range(4)
    ]
    for number, station in enumerate(stations):  # the last ones ended long ago
        put(station, steady("2026-01-02 05:00", f"2026-0{3 - number % 3}-12 03:00", 10 + number))
    with django_assert_num_queries(3):
        recent = recent_air(stations, TIMELINE)
        together = [StoredAir(HouseSources(station=one), TIMELINE, NOW, recent) for one in stations]
        weathers = [one.weather() for one in together]
    for station, weather in zip(stations, weathers, strict=True):
        alone = StoredAir(HouseSources(station=station), TIMELINE, NOW).weather()
        assert weather is not None
        assert alone is not None
        assert np.array_equal(weather.air.temperature_c, alone.air.temperature_c)
        assert np.array_equal(weather.air.humidity, alone.air.humidity)
        assert np.array_equal(weather.air.kinds, alone.air.kinds)


def test_air_older_than_what_was_read_is_read_when_it_is_asked_for(company: Company) -> None:
    station = put_air_source(company=company, name="Station", kind=AirSource.Kind.STATION)
    put(station, steady("2026-01-02 05:00", "2026-03-12 03:00", 10))
    first = utc("2026-01-01 20:00")
    found = recent_air([station], TIMELINE).hourly(station, first_hour=first, hours=24)
    assert np.isnan(found.temperature_c[:9]).all()
    assert (found.temperature_c[9:] == 10).all()
