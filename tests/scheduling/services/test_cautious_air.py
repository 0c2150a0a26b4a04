"""Plans made against air that holds in 8 of 10 histories, beside those made against the average."""

from datetime import date, timedelta

import numpy as np
import pytest
from django.core.management import call_command

from finishing.models import AirDay, AirSource, Company
from scheduling.services.caution import compare_caution
from scheduling.services.inputs import build_inputs
from scheduling.services.odds import current_odds, histories_of, odds_in, planned_to_come
from scheduling.services.plan_inputs import WhatIf
from scheduling.solver.construct import construct
from scheduling.solver.outcome import Limits
from tests.plans import plan_from
from tests.sites import MONDAY, hourly_station, make_site

pytestmark = pytest.mark.django_db(transaction=True)

CAUTIOUS = Company.PlannedAir.EIGHT_IN_TEN
DAYS_BEFORE = 40


def changing_site() -> Company:
    """A house in dry and damp days by turns, three and three, up to MONDAY."""
    company, _ = make_site(rooms=("A", "B"), system="All-purpose drying")
    AirSource.objects.filter(company=company).delete()
    damp = [0.5 if number // 3 % 2 else 0.97 for number in range(DAYS_BEFORE)]
    hours = np.repeat(damp, 24).tolist()
    first = date(2026, 3, 2) - timedelta(days=DAYS_BEFORE)
    hourly_station(company, [16.0] * len(hours), hours, first=first)
    return company


def test_cautious_air_dries_more_slowly_from_now_on() -> None:
    company = changing_site()
    average = build_inputs(company=company, now=MONDAY)
    company.planned_air = CAUTIOUS
    company.save()
    cautious = build_inputs(company=company, now=MONDAY)
    (house,) = average.airs
    one, other = average.airs[house].progress, cautious.airs[house].progress
    now = (MONDAY - average.timeline.origin) // timedelta(hours=1)
    np.testing.assert_allclose(other[:now], one[:now])
    week_later = slice(now + 7 * 24, now + 28 * 24)
    assert np.ptp(other[week_later]) < 0.95 * np.ptp(one[week_later])
    assert average.problem.curves.keys() == cautious.problem.curves.keys()


def test_a_cautious_plan_finds_fewer_coats_wet_and_ends_later() -> None:
    company = changing_site()
    average = build_inputs(company=company, now=MONDAY)
    cautious = build_inputs(company=company, now=MONDAY, what_if=WhatIf(planned_air=CAUTIOUS))
    plans = [construct(inputs.problem).placements for inputs in (average, cautious)]
    drawn = histories_of(average, plans[1], now=MONDAY, seed=5, count=200)
    found = [odds_in(average, plan, drawn) for plan in plans]
    assert found[1].mean_in_vain < 0.6 * found[0].mean_in_vain
    assert max(p.end for p in plans[1]) >= max(p.end for p in plans[0])


def test_setting_is_used_by_a_replan() -> None:
    company = changing_site()
    average = plan_from(company)
    Company.objects.filter(pk=company.pk).update(planned_air=CAUTIOUS)
    cautious = plan_from(Company.objects.get(pk=company.pk))
    assert cautious.handovers[0]["met_at"] > average.handovers[0]["met_at"]
    assert planned_to_come(company, build_inputs(company=company, now=MONDAY))


def test_replan_command_keeps_the_air_to_plan_against() -> None:
    company = changing_site()
    call_command("replan", "--work", "1", "--today", "2026-03-02", "--air", "eight_in_ten")
    company.refresh_from_db()
    assert company.planned_air == CAUTIOUS
    call_command("replan", "--work", "1", "--today", "2026-03-02")
    company.refresh_from_db()
    assert company.planned_air == CAUTIOUS


def test_comparison_shows_what_caution_costs_and_saves() -> None:
    company = changing_site()
    plan_from(company)
    limits = Limits(work=1, workers=1)
    found = compare_caution(company=company, now=MONDAY, limits=limits)
    average, cautious = found["average"], found["eight_in_ten"]
    assert average == current_odds(company=company, now=MONDAY)
    assert cautious.mean_in_vain < average.mean_in_vain
    assert cautious.mean_end_days >= average.mean_end_days
    # A company that plans cautiously has its own plan on the other side.
    Company.objects.filter(pk=company.pk).update(planned_air=CAUTIOUS)
    company.refresh_from_db()
    plan_from(company)
    other = compare_caution(company=company, now=MONDAY, limits=limits)
    assert other["eight_in_ten"].mean_in_vain < other["average"].mean_in_vain


def test_steady_air_is_planned_alike_either_way() -> None:
    company, _ = make_site(rooms=("A", "B"), system="All-purpose drying")
    average = build_inputs(company=company, now=MONDAY)
    cautious = build_inputs(company=company, now=MONDAY, what_if=WhatIf(planned_air=CAUTIOUS))
    assert construct(cautious.problem).placements == construct(average.problem).placements


def test_too_short_a_record_holds_the_house() -> None:
    company = changing_site()
    AirDay.objects.filter(day__lt=date(2026, 2, 25)).delete()
    inputs = build_inputs(company=company, now=MONDAY, what_if=WhatIf(planned_air=CAUTIOUS))
    assert [hold.code for hold in inputs.holds] == ["too_little_air"]
    assert not inputs.problem.tasks
    assert inputs.held_handovers
