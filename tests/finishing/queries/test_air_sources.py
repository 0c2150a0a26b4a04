"""Which sources speak for a house."""

from typing import Any

import pytest

from finishing.models import AirSource, Company, House
from finishing.queries.air_sources import CompanyAir, HouseSources, forecast_place
from finishing.services.air import put_air_source
from scheduling.air_wording import shared_forecast_sentence
from tests.factories import make_company, make_house

pytestmark = pytest.mark.django_db

HERE: dict[str, Any] = {"latitude": 53.34, "longitude": -6.26}
ELSEWHERE: dict[str, Any] = {"latitude": 53.5, "longitude": -6.26}

FAR: dict[str, Any] = {"latitude": 52.0, "longitude": -6.26}


@pytest.fixture
def company() -> Company:
    return make_company()


@pytest.fixture
def house(company: Company) -> House:
    return make_house(company, latitude=53.3441, longitude=-6.2637)


def sources_of(house: House) -> HouseSources:
    return CompanyAir(house.company).of(house)


def forecast(company: Company, name: str, **place: float) -> AirSource:
    return AirSource.objects.create(
        company=company, name=name, kind=AirSource.Kind.FORECAST, **place
    )


def test_no_source_at_all(house: House) -> None:
    assert not any(sources_of(house))


def test_the_only_station_is_the_air_of_houses_without_one(house: House) -> None:
    put_air_source(company=house.company, name="In the loft", kind=AirSource.Kind.LOGGER)
    assert not any(sources_of(house))
    station = put_air_source(company=house.company, name="Roof")
    assert sources_of(house).station == station
    other = put_air_source(company=house.company, name="Harbour")
    assert sources_of(house).station is None
    house.air_source = other
    assert sources_of(house).station == other


def test_a_logged_house_has_the_station_beside_its_logger(house: House) -> None:
    station = put_air_source(company=house.company, name="Roof")
    house.air_source = put_air_source(
        company=house.company, name="Hall", kind=AirSource.Kind.LOGGER
    )
    assert tuple(sources_of(house)) == (house.air_source, station)


def test_a_forecast_is_that_of_the_houses_place(company: Company, house: House) -> None:
    forecast(company, "There", **ELSEWHERE)
    assert sources_of(house).forecast is None
    here = forecast(company, "Here", **HERE)
    assert sources_of(house).forecast == here


def test_a_house_without_a_position_has_the_only_forecast(company: Company) -> None:
    house = make_house(company)
    here = forecast(company, "Here", **HERE)
    assert forecast_place(house) is None
    assert sources_of(house).forecast == here


def test_a_house_without_a_position_keeps_a_forecast_when_a_second_place_comes(
    company: Company, house: House
) -> None:
    """18 km apart is one weather: the forecast nearest to all others, whoever came first."""
    nowhere = make_house(company, "Nowhere")
    here = forecast(company, "Here", **HERE)
    forecast(company, "There", **ELSEWHERE)
    make_house(company, "There", **ELSEWHERE)
    assert sources_of(nowhere).forecast == here
    between: dict[str, Any] = {"latitude": 53.42, "longitude": -6.26}
    make_house(company, "Between", **between)
    middle = forecast(company, "Between", **between)
    assert sources_of(nowhere).forecast == middle


def test_places_too_far_apart_share_no_forecast_and_it_is_said(
    company: Company, house: House
) -> None:
    nowhere = make_house(company, "Nowhere")
    assert shared_forecast_sentence(CompanyAir(company)) == "nor has any other house"
    here = forecast(company, "Here", **HERE)
    assert shared_forecast_sentence(CompanyAir(company)) == "Here is used in its place"
    far = make_house(company, "Far", **FAR)
    forecast(company, "Far", **FAR)
    assert sources_of(nowhere).forecast is None
    assert "too far apart: give a position" in shared_forecast_sentence(CompanyAir(company))
    far.is_active = False
    far.save()
    assert sources_of(nowhere).forecast == here


def test_readings_are_those_of_the_house(company: Company, house: House) -> None:
    readings = AirSource.objects.create(
        company=company, name="Readings", kind=AirSource.Kind.READINGS, house=house
    )
    assert sources_of(house).readings == readings
    assert not any(sources_of(make_house(company, "Weir House")))


def test_another_companys_air_is_not_seen(house: House) -> None:
    other = make_company("Other Finishing")
    put_air_source(company=other, name="Roof")
    forecast(other, "Here", **HERE)
    assert not any(sources_of(house))
