"""Odds of a company's handovers, from its rows."""

from datetime import date, timedelta
from io import StringIO

import numpy as np
import pytest
from django.core.management import CommandError, call_command

from finishing.models import AirDay, AirSource, Company, House
from finishing.services.air import Reading, put_air_source, store_air
from scheduling.odds_wording import odds_sentence
from scheduling.services.air_histories import air_histories
from scheduling.services.inputs import build_inputs
from scheduling.services.odds import (
    HandoverOdds,
    NothingPlannedError,
    PlanOdds,
    TooLittleAir,
    current_odds,
    histories_of,
    planned_to_come,
)
from scheduling.services.publish import publish_plan
from scheduling.services.source_histories import TooLittleAirError
from scheduling.solver.forward import run_forward
from tests.factories import make_house
from tests.plans import plan_from
from tests.sites import MONDAY, give_board, hourly_station, make_site

pytestmark = pytest.mark.django_db(transaction=True)

DRYING = "All-purpose drying"
DAYS_BEFORE = 40
FIRST = date(2026, 3, 2) - timedelta(days=DAYS_BEFORE)


def dry_and_damp(dry: float, damp: float) -> list[float]:
    """Days of the one and the other by turns, three and three."""
    return [dry if number // 3 % 2 else damp for number in range(DAYS_BEFORE)]


def put_air(company: Company, temperature_c: list[float], humidity: list[float]) -> None:
    """Put other air in the place of the site's: a value for each day up to MONDAY."""
    AirSource.objects.filter(company=company).delete()
    hours = (np.repeat(days, 24).tolist() for days in (temperature_c, humidity))
    hourly_station(company, *hours, first=FIRST)


def odds_at_monday(company: Company, seed: int = 1) -> PlanOdds:
    return current_odds(company=company, now=MONDAY, seed=seed, histories=100)


def test_in_air_that_never_changes_the_plan_comes_about_as_planned() -> None:
    company, _ = make_site(rooms=("A", "B"), system=DRYING)
    plan_from(company)
    inputs = build_inputs(company=company, now=MONDAY)
    planned = planned_to_come(company, inputs)
    drawn = histories_of(inputs, planned, now=MONDAY, seed=1, count=10)
    ran = run_forward(inputs.problem, planned, drawn.histories)
    assert len(planned) == len(inputs.problem.tasks)
    for place in planned:
        assert set(ran.starts[place.task].tolist()) == {place.start}
    (promise,) = odds_at_monday(company).handovers
    met = plan_from(company).handovers[0]["met_at"]
    assert promise.in_time == 1.0
    assert promise.holds_on == date.fromisoformat(met[:10])


def test_air_that_may_be_damp_makes_a_near_promise_uncertain() -> None:
    company, house = make_site(rooms=("A", "B"), system=DRYING)
    put_air(company, [16.0] * DAYS_BEFORE, dry_and_damp(0.5, 0.97))
    plan = plan_from(company)
    House.objects.filter(pk=house.pk).update(
        handover_on=date.fromisoformat(plan.handovers[0]["met_at"][:10])
    )
    odds = odds_at_monday(company)
    (promise,) = odds.handovers
    assert promise.in_time is not None
    assert 0.05 < promise.in_time < 0.95
    assert promise.holds_on is not None
    assert (promise.holds_on > promise.due_on) == (promise.in_time < 0.8)
    assert odds.mean_in_vain > 0
    assert odds == odds_at_monday(company)
    assert odds != odds_at_monday(company, seed=2)


def test_cold_that_may_come_keeps_coats_waiting() -> None:
    """An unheated house, dry and just warm enough; the record has days of frost."""
    company, _ = make_site(rooms=("A", "B"), system=DRYING)
    warm, dry = [14.0] * DAYS_BEFORE, [0.4] * DAYS_BEFORE
    put_air(company, warm, dry)
    plan_from(company)
    sure = odds_at_monday(company)
    frost = [4.0 if number < 20 and number % 7 == 0 else 14.0 for number in range(DAYS_BEFORE)]
    put_air(company, frost, dry)
    unsure = odds_at_monday(company)
    assert sure.mean_end_days < unsure.mean_end_days
    House.objects.filter(company=company).update(heating="heated", setpoint_c=14.0)
    assert odds_at_monday(company).mean_end_days < unsure.mean_end_days


def test_what_is_published_comes_first() -> None:
    company, _ = make_site(rooms=("A", "B"), system=DRYING)
    with pytest.raises(NothingPlannedError):
        odds_at_monday(company)
    plan_from(company)
    before = odds_at_monday(company)
    publish_plan(company=company, now=MONDAY)
    assert odds_at_monday(company) == before


def test_what_was_logged_in_a_house_is_so_in_every_history() -> None:
    """Damp inside (80 %) for days, in dry weather (50 %)."""
    company, house = make_site(system=DRYING)
    house.air_source = put_air_source(company=company, name="Hall", kind=AirSource.Kind.LOGGER)
    house.save()
    hours = [MONDAY - timedelta(hours=step) for step in range(1, 10 * 24)]
    store_air(source=house.air_source, readings=dict.fromkeys(hours, Reading(20.0, 0.8)))
    inputs = build_inputs(company=company, now=MONDAY)
    now = inputs.timeline.tick_after(MONDAY)
    drawn = air_histories(inputs, now=MONDAY, until=now + 288 * 14, count=5, seed=1)
    ended = now - 60 * 12
    dried = [name for name in inputs.drying if inputs.problem.curves[name].ready(ended) <= now]
    assert dried
    for name in dried:
        ready = drawn.histories.ready[name](np.full(5, ended))
        # A curve is rounded up to its steps of an hour, histories to ticks.
        assert set(inputs.problem.curves[name].ready(ended) - ready) <= set(range(13))


def test_too_short_a_record_is_named() -> None:
    company, _ = make_site(system=DRYING)
    plan_from(company)
    AirDay.objects.filter(day__lt=date(2026, 2, 25)).delete()
    with pytest.raises(TooLittleAirError) as refused:
        odds_at_monday(company)
    assert refused.value.days == 5
    with pytest.raises(CommandError, match=r"Station: 5 whole days .* at least 10 are needed"):
        call_command("odds", "--today", "2026-03-02")


def test_command_prints_each_promise_and_as_json() -> None:
    company, _ = make_site(system=DRYING)
    with pytest.raises(CommandError, match="replan first"):
        call_command("odds", "--today", "2026-03-02")
    plan_from(company)
    out = StringIO()
    call_command("odds", "--today", "2026-03-02", stdout=out)
    assert "Mill Cottage (Ground floor): due Fri 27 Mar, kept in 100 % of histories;" in (
        out.getvalue()
    )
    assert "holds in 8 of 10" in out.getvalue()
    out = StringIO()
    call_command("odds", "--today", "2026-03-02", "--histories", "600", "--json", stdout=out)
    assert '"in_time": 1.0' in out.getvalue()
    assert '"histories": 600' in out.getvalue()


@pytest.mark.parametrize("count", ["499", "5001", "many"])
def test_too_few_and_too_many_histories_are_refused(count: str) -> None:
    with pytest.raises(CommandError, match="--histories"):
        call_command("odds", "--histories", count)


def test_a_house_with_all_its_work_held_has_no_odds_but_is_told() -> None:
    company, _ = make_site(system=DRYING)
    make_house(company, "Airless", air_source=None)
    plan_from(company)
    AirSource.objects.create(company=company, name="Another", kind=AirSource.Kind.STATION)
    station = AirSource.objects.get(company=company, name="Station")
    House.objects.filter(name="Mill Cottage").update(air_source=station)
    odds = odds_at_monday(company)
    told = {row.house: row.in_time for row in odds.handovers}
    assert told == {"Mill Cottage": 1.0, "Airless": None}
    assert odds.held == 1


def test_what_is_handed_over_has_no_odds_and_what_is_past_is_not_kept() -> None:
    company, house = make_site(rooms=("A", "B"), system=DRYING)
    House.objects.filter(pk=house.pk).update(handover_on=date(2026, 2, 20))
    plan_from(company)
    (promise,) = odds_at_monday(company).handovers
    assert promise.in_time == 0.0
    assert promise.holds_on is not None
    assert promise.holds_on > date(2026, 3, 2)
    publish_plan(company=company, now=MONDAY)
    with pytest.raises(NothingPlannedError):
        current_odds(company=company, now=MONDAY + timedelta(weeks=6))


def test_a_plan_that_nobody_published_is_as_late_as_it_is_now() -> None:
    """Half a year on, nothing of it has been done: the same work, but from now on."""
    company, _ = make_site(system=DRYING)
    plan_from(company)
    station = AirSource.objects.get(company=company)
    later = MONDAY + timedelta(weeks=26)
    hours = [later - timedelta(hours=step) for step in range(1, 20 * 24)]
    store_air(source=station, readings=dict.fromkeys(hours, Reading(20.0, 0.5)))
    (promise,) = current_odds(company=company, now=later, histories=20).handovers
    assert promise.in_time == 0.0
    assert promise.holds_on is not None
    assert later.date() < promise.holds_on < later.date() + timedelta(weeks=3)


@pytest.mark.parametrize(
    ("share", "said"),
    [(0.0, "0 %"), (0.002, "1 %"), (0.5, "50 %"), (0.998, "99 %"), (1.0, "100 %")],
)
def test_nothing_is_said_to_be_certain_that_is_not(share: float, said: str) -> None:
    odds = HandoverOdds("House", (), date(2026, 3, 27), share, date(2026, 3, 20), 0.0)
    assert f"kept in {said} of histories" in odds_sentence(odds)


def test_a_house_with_too_short_a_record_is_named_and_the_others_have_their_odds() -> None:
    company, house = make_site(rooms=("A", "B"), system=DRYING)
    alone = odds_at_monday_of_a_plan(company)
    short = AirSource.objects.create(company=company, name="Short", kind=AirSource.Kind.STATION)
    hours = [MONDAY - timedelta(hours=step) for step in range(1, 5 * 24)]
    store_air(source=short, readings=dict.fromkeys(hours, Reading(20.0, 0.5)))
    house.air_source = AirSource.objects.get(company=company, name="Station")
    house.save()
    new = make_house(company, "New estate", air_source=short)
    new.system = house.system
    new.save()
    give_board(new)
    odds = odds_at_monday_of_a_plan(company)
    by_house = {row.house: row for row in odds.handovers}
    assert by_house["Mill Cottage"].in_time == alone.handovers[0].in_time == 1.0
    assert by_house["New estate"].in_time is None
    assert by_house["New estate"].lacking == TooLittleAir("Short", 4)
    assert (odds.held, odds.mean_late) == (0, 0.0)
    out = StringIO()
    call_command("odds", "--today", "2026-03-02", stdout=out)
    said = "no odds: Short has 4 whole days of the season on record, at least 10 are needed"
    assert f"New estate (Ground floor): due Fri 27 Mar, {said}" in out.getvalue()
    assert "Mill Cottage (Ground floor): due Fri 27 Mar, kept in 100 %" in out.getvalue()


def odds_at_monday_of_a_plan(company: Company) -> PlanOdds:
    plan_from(company)
    return odds_at_monday(company)
