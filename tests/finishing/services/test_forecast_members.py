"""Members of an ensemble in a forecast's answer: what is read, what is left out, what is kept."""

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

import httpx
import pytest

from finishing.models import AirDay, AirSource, Company, ForecastEnsemble
from finishing.queries.ensembles import ensemble_of
from finishing.services.forecast_members import LEAST_MEMBERS, MOST_MEMBERS
from finishing.services.forecasts import Feed, Refreshed, State, refresh_forecasts
from finishing.services.web_answers import Asker, careful_client
from scheduling.air_wording import forecast_sentence
from tests.factories import make_company, make_house
from tests.forecast_answers import HOURS, answering, ensemble_answer, forecast_answer
from tests.sites import utc

pytestmark = pytest.mark.django_db

NOW = utc("2026-03-02 06:10")
FIRST = utc("2026-03-02 00:00")
MEMBERS = [float(number) for number in range(1, 31)]
KEY = "s3cret"


@pytest.fixture
def company() -> Company:
    company = make_company()
    make_house(company, latitude=53.3441, longitude=-6.2637)
    return company


def refresh(company: Company, answer: dict[str, Any], now: datetime = NOW) -> Refreshed:
    feed = Feed(httpx.URL("https://forecast.example/v1/ensemble?models=fine"), KEY)
    with careful_client(answering(httpx.Response(200, json=answer))) as client:
        asker = Asker(client, pause=lambda _: None)
        [done] = refresh_forecasts(company=company, feed=feed, asker=asker, now=now)
    return done


def left_out(company: Company, change: Callable[[dict[str, Any], dict[str, Any]], None]) -> str:
    """Return what is said of an answer in which something was changed, that of member07 only."""
    answer = ensemble_answer(MEMBERS)
    change(answer["hourly"], answer["hourly_units"])
    assert refresh(company, answer).state is State.FETCHED
    kept = ForecastEnsemble.objects.get()
    assert "member07" not in kept.members
    assert (len(kept.members), len(kept.temperature_c), len(kept.humidity)) == (30, 30, 30)
    assert set(AirDay.objects.get(day="2026-03-02").temperature_c) == {8.0}
    return AirSource.objects.get().member_faults


def test_members_are_kept_beside_the_main_series_which_is_one_of_them(company: Company) -> None:
    assert refresh(company, ensemble_answer(MEMBERS)).state is State.FETCHED
    kept = ForecastEnsemble.objects.get()
    assert kept.members[:3] == ["temperature_2m", "member01", "member02"]
    assert [set(hours) for hours in kept.temperature_c] == [{c} for c in [8.0, *MEMBERS]]
    assert [set(hours) for hours in kept.humidity] == [{0.8}, *[{0.5}] * 30]
    assert {len(hours) for hours in kept.temperature_c + kept.humidity} == {HOURS}
    assert (kept.company, kept.fetched_at, kept.first_hour) == (company, NOW, FIRST)
    source = AirSource.objects.get()
    assert source.member_faults == ""
    assert forecast_sentence(source, NOW) == "fetched 0 minutes ago"
    assert set(AirDay.objects.get(day="2026-03-02").temperature_c) == {8.0}


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (
            lambda hourly, _: hourly["temperature_2m_member07"].__setitem__(5, None),
            "hourly.temperature_2m_member07[5]: null: 1 hour has no value",
        ),
        (
            lambda hourly, _: hourly["relative_humidity_2m_member07"].__setitem__(
                slice(100, None), [None] * (HOURS - 100)
            ),
            "relative_humidity_2m_member07[100]: null: 68 hours have no value",
        ),
        (
            lambda hourly, _: hourly["temperature_2m_member07"].pop(),
            "hourly.temperature_2m_member07: 167 values for 168 hours",
        ),
        (
            lambda hourly, _: hourly.pop("relative_humidity_2m_member07"),
            "hourly.relative_humidity_2m_member07: there are no values",
        ),
        (
            lambda _, units: units.pop("temperature_2m_member07"),
            "hourly.temperature_2m_member07: the unit is 'None', not °C or °F",
        ),
        (
            lambda _, units: units.update(relative_humidity_2m_member07="fraction"),
            "hourly.relative_humidity_2m_member07: the unit is 'fraction', not %",
        ),
        (
            lambda hourly, _: hourly.update(relative_humidity_2m_member07=[0.5] * HOURS),
            "hourly.relative_humidity_2m_member07: looks like fractions of 1",
        ),
        (
            lambda hourly, _: hourly.update(temperature_2m_member07=[50.0] * HOURS),
            "hourly.temperature_2m_member07: the mean is 50 C: is this Fahrenheit?",
        ),
        (
            lambda hourly, _: hourly["temperature_2m_member07"].__setitem__(3, "mild"),
            "hourly.temperature_2m_member07[3]: 'mild' °C cannot be the air of a place",
        ),
        (
            lambda hourly, _: hourly.update(temperature_2m_member07={"0": 8.0}),
            "hourly.temperature_2m_member07: there are no values",
        ),
    ],
)
def test_a_member_with_a_fault_is_named_and_left_out_and_the_others_stay(
    company: Company, change: Callable[[dict[str, Any], dict[str, Any]], None], said: str
) -> None:
    found = left_out(company, change)
    assert found.startswith("1 of 30 members are left out: Forecast 53.34, -6.26, ")
    assert said in found


def test_members_in_fahrenheit_are_read_by_their_unit(company: Company) -> None:
    answer = ensemble_answer([50.0] * 12)
    for number in range(1, 13):
        answer["hourly_units"][f"temperature_2m_member{number:02}"] = "°F"
    refresh(company, answer)
    kept = ForecastEnsemble.objects.get()
    assert [hours[0] for hours in kept.temperature_c] == [8.0, *[10.0] * 12]


def test_the_order_in_which_members_come_makes_no_difference(company: Company) -> None:
    answer = ensemble_answer(MEMBERS)
    refresh(company, answer)
    one = ForecastEnsemble.objects.get()
    answer["hourly"] = dict(reversed(answer["hourly"].items()))
    refresh(company, answer, NOW + timedelta(hours=2))
    other = ForecastEnsemble.objects.get()
    assert other.fetched_at > one.fetched_at
    assert (one.members, one.temperature_c, one.humidity) == (
        other.members,
        other.temperature_c,
        other.humidity,
    )


def too_few() -> dict[str, Any]:
    return ensemble_answer(MEMBERS[: LEAST_MEMBERS - 2])


def too_many() -> dict[str, Any]:
    return ensemble_answer([5.0] * (MOST_MEMBERS + 1), hours=48)


def all_faulty() -> dict[str, Any]:
    answer = ensemble_answer(MEMBERS)
    for number in range(1, 31):
        answer["hourly"][f"temperature_2m_member{number:02}"][0] = None
    return answer


@pytest.mark.parametrize(
    ("answer", "said"),
    [
        (too_few, "hourly: 9 sound members, the main series among them: 10 are needed"),
        (too_many, "hourly: 201 members, at most 200 can be read"),
        (all_faulty, "1 sound members, the main series among them: 10 are needed; Forecast"),
    ],
)
def test_without_enough_sound_members_the_last_ensemble_is_kept(
    company: Company, answer: Callable[[], dict[str, Any]], said: str
) -> None:
    refresh(company, ensemble_answer(MEMBERS))
    later = NOW + timedelta(hours=2)
    done = refresh(company, answer(), later)
    assert (done.state, done.source.fetched_at) == (State.FETCHED, later)
    assert ForecastEnsemble.objects.get().fetched_at == NOW
    faults = AirSource.objects.get().member_faults
    assert faults.startswith("its ensemble cannot be used, any before it is kept: ")
    assert said in faults
    assert len(faults) < 500
    assert forecast_sentence(done.source, later).endswith(faults)


def test_a_failed_refresh_keeps_the_last_ensemble(company: Company) -> None:
    refresh(company, ensemble_answer(MEMBERS))
    broken = ensemble_answer([1.0] * 30)
    broken["hourly"]["temperature_2m"][5] = None
    assert refresh(company, broken, NOW + timedelta(hours=2)).state is State.FAILED
    kept = ForecastEnsemble.objects.get()
    assert kept.fetched_at == NOW
    assert kept.temperature_c[1:] == [[c] * HOURS for c in MEMBERS]


def test_a_forecast_without_members_ends_the_ensemble(company: Company) -> None:
    refresh(company, ensemble_answer(MEMBERS))
    refresh(company, forecast_answer(), NOW + timedelta(hours=2))
    assert not ForecastEnsemble.objects.exists()


def test_what_a_member_says_may_not_give_away_the_key(company: Company) -> None:
    answer = ensemble_answer(MEMBERS)
    answer["hourly"]["temperature_2m_member07"][3] = f"apikey={KEY}"
    refresh(company, answer)
    assert "'apikey=[key]' °C cannot be" in AirSource.objects.get().member_faults


def test_each_company_has_its_own(company: Company) -> None:
    other = make_company("Other Finishing")
    make_house(other, latitude=53.3441, longitude=-6.2637)
    refresh(company, ensemble_answer(MEMBERS))
    refresh(other, ensemble_answer([20.0] * 12))
    refresh(company, forecast_answer(), NOW + timedelta(hours=2))
    assert ForecastEnsemble.objects.get().company == other


def test_only_hours_to_come_that_it_covers_are_asked_of_an_ensemble(company: Company) -> None:
    source = refresh(company, ensemble_answer(MEMBERS)).source
    found = ensemble_of(source, first_hour=FIRST - timedelta(days=3), hours=14 * 24, now=NOW)
    assert found is not None
    assert (found.count, found.until) == (31, FIRST + timedelta(hours=HOURS))
    covered = found.members.temperature_c[5] == 5.0
    assert covered.nonzero()[0].tolist() == list(range(72 + 7, 72 + HOURS))
    end = FIRST + timedelta(hours=HOURS)
    for now, some in ((end - timedelta(hours=2), True), (end - timedelta(hours=1), False)):
        found = ensemble_of(source, first_hour=FIRST, hours=14 * 24, now=now)
        assert (found is not None) is some
    assert ensemble_of(source, first_hour=end, hours=24, now=NOW) is None
