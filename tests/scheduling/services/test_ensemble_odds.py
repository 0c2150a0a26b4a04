"""Odds of a company whose forecast has an ensemble."""

from datetime import datetime, timedelta
from io import StringIO
from statistics import NormalDist
from typing import Any

import numpy as np
import pytest
from django.core.management import call_command

from finishing.models import AirSource, Company, ForecastEnsemble, House
from finishing.rules.drying import drying_hours
from finishing.services.air import Reading, store_air
from scheduling.odds_wording import drawn_from_sentence
from scheduling.services.air_histories import DrawnHistories, air_histories
from scheduling.services.inputs import build_inputs
from scheduling.services.odds import PlanOdds, current_odds
from scheduling.services.plan_inputs import PlanInputs
from tests.factories import make_house
from tests.plans import plan_from
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db(transaction=True)

DRYING = "All-purpose drying"
HOUR = timedelta(hours=1)
NORMAL = NormalDist(16.0, 2.0)
MEMBERS = [NORMAL.inv_cdf((number + 0.5) / 100) for number in range(100)]
POSITION: dict[str, Any] = {"latitude": 53.34, "longitude": -6.26}


def give_forecast(
    company: Company,
    members_c: list[float],
    *,
    hours: int = 28 * 24,
    fetched_at: datetime = MONDAY,
    humidity: float = 0.5,
) -> AirSource:
    """A forecast of 16 C and 50 %, whose members are of steady air, from its hour on."""
    source = AirSource.objects.create(
        company=company,
        name="Forecast 53.34, -6.26",
        kind=AirSource.Kind.FORECAST,
        fetched_at=fetched_at,
        **POSITION,
    )
    ahead = [MONDAY + step * HOUR for step in range(28 * 24)]
    store_air(source=source, readings=dict.fromkeys(ahead, Reading(16.0, 0.5)))
    ForecastEnsemble.objects.create(
        company=company,
        source=source,
        fetched_at=fetched_at,
        first_hour=fetched_at,
        members=[f"member{number:02}" for number in range(len(members_c))],
        temperature_c=[[celsius] * hours for celsius in members_c],
        humidity=[[humidity] * hours for _ in members_c],
    )
    return source


def open_site() -> tuple[Company, House]:
    """An open shell at the place of the forecast: its air is that outdoors."""
    return make_site(system=DRYING, temperature_c=16.0, heating="open", **POSITION)


def drawn(company: Company, now: datetime = MONDAY) -> tuple[PlanInputs, DrawnHistories]:
    inputs = build_inputs(company=company, now=now)
    until = inputs.timeline.tick_after(now) + 288 * 25
    return inputs, air_histories(inputs, now=now, until=until, count=500, seed=1)


def odds_at_monday(company: Company) -> PlanOdds:
    return current_odds(company=company, now=MONDAY, histories=100)


def test_the_tick_that_holds_in_8_of_10_is_the_closed_form() -> None:
    """Members N(16, 2) C at 50 %: in 8 of 10 a coat is dry after the time it takes at the fifth
    part of the normal distribution (the coat dries the sooner the warmer it is)."""
    company, _ = open_site()
    give_forecast(company, MEMBERS)
    inputs, found = drawn(company)
    slow = float(drying_hours(NORMAL.inv_cdf(0.2), 0.5))
    now = inputs.timeline.tick_after(MONDAY)
    amounts = {name: one.amount for name, one in inputs.drying.items() if one.amount * slow < 500}
    assert amounts
    for name, amount in amounts.items():
        ready = found.histories.ready[name](np.full(500, now + 12))
        assert np.quantile(ready, 0.8) - now - 12 == pytest.approx(12 * slow * amount, rel=0.01)


def test_damp_members_make_late_what_the_record_keeps_and_the_odds_say_where_from() -> None:
    company, _ = open_site()
    plan_from(company)
    source = give_forecast(company, [16.0] * 20, hours=14 * 24, humidity=0.99)
    damp = odds_at_monday(company)
    ForecastEnsemble.objects.all().delete()
    plain = odds_at_monday(company)
    assert damp.mean_end_days > plain.mean_end_days + 5
    assert plain.ensembles == ()
    [used] = damp.ensembles
    until = MONDAY + timedelta(days=14)
    assert (used.air_source, used.members, used.until) == (source.name, 20, until)
    said = drawn_from_sentence(used, MONDAY + 2 * HOUR, MONDAY.tzinfo)  # type: ignore[arg-type]
    assert "comes from the ensemble of Forecast 53.34, -6.26 (20 members, fetched 2 hours ago)" in (
        said
    )


def test_the_command_says_that_odds_come_from_an_ensemble() -> None:
    company, _ = open_site()
    plan_from(company)
    for ensemble in (True, False):
        if ensemble:
            give_forecast(company, MEMBERS)
        else:
            ForecastEnsemble.objects.all().delete()
        out, as_json = StringIO(), StringIO()
        call_command("odds", "--today", "2026-03-02", stdout=out)
        call_command("odds", "--today", "2026-03-02", "--json", stdout=as_json)
        assert ("from the ensemble of Forecast 53.34" in out.getvalue()) is ensemble
        assert ('"members": 100' in as_json.getvalue()) is ensemble


def test_an_old_ensemble_is_used_as_far_as_it_reaches_and_no_further() -> None:
    """Icy members fetched five days before: while they reach no coat may start; when they have run
    out they change nothing."""
    company, _ = open_site()
    plan_from(company)
    before = MONDAY - timedelta(days=5)
    give_forecast(company, [0.0] * 20, hours=5 * 24, fetched_at=before)
    run_out = odds_at_monday(company)
    ForecastEnsemble.objects.all().delete()
    assert run_out == odds_at_monday(company)
    AirSource.objects.filter(kind="forecast").delete()
    give_forecast(company, [0.0] * 20, hours=10 * 24, fetched_at=before)
    reaching = odds_at_monday(company)
    assert reaching.mean_end_days > run_out.mean_end_days + 4
    assert [used.until for used in reaching.ensembles] == [MONDAY + timedelta(days=5)]


def test_another_companys_ensemble_is_not_drawn_from() -> None:
    company, _ = open_site()
    plan_from(company)
    before = odds_at_monday(company)
    other = Company.objects.create(name="Other Finishing", zone=company.zone, country="IE")
    make_house(other, latitude=53.34, longitude=-6.26)
    give_forecast(other, [0.0] * 20)
    assert odds_at_monday(company) == before
    AirSource.objects.filter(company=other).update(company=company)
    assert odds_at_monday(company) != before


def test_only_the_ensemble_of_its_own_place_is_followed() -> None:
    company, house = open_site()
    give_forecast(company, MEMBERS)
    House.objects.filter(pk=house.pk).update(latitude=51.0)
    assert drawn(company)[1].ensembles == ()
    AirSource.objects.filter(kind="forecast").update(latitude=51.0)
    assert len(drawn(company)[1].ensembles) == 1
