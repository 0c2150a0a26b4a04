"""What crews find wet changes the waits in that house, and leaves no trace once set aside."""

from collections.abc import Iterable
from datetime import datetime, timedelta
from itertools import count

import numpy as np
import pytest

from finishing.models import AirSource, CoatDone, Company, Crew, House, Room
from finishing.rules.drying import STAGE_THICKNESS_MM, drying_hours, thickness_amount
from finishing.rules.thickness import HouseCode
from finishing.rules.vocabulary import Stage
from finishing.services.air import Reading, store_air
from finishing.services.errors import InputFaults
from scheduling.models import Report
from scheduling.services.inputs import build_inputs
from scheduling.services.plan_inputs import PlanInputs
from scheduling.services.shown_looks import looks_to_show, set_looks_aside
from scheduling.services.wet_looks import NO_LOOKS, HouseLooks
from scheduling.solver.problem import Task
from tests.factories import local, make_house
from tests.sites import make_site

pytestmark = pytest.mark.django_db

TAPED = local("2026-03-02 10:00")
LOOKED = TAPED + timedelta(hours=22)
NOW = LOOKED + timedelta(hours=2)
A_TICK = 1 / 12
"""In hours."""
LAW_HOURS = float(drying_hours(np.array([20.0]), np.array([0.5]))[0])
"""The table's coat in the site's air, by the law alone: an open house has outdoor air."""
NEEDS = 0.2 + 22 / LAW_HOURS
"""What a tape coat needs in all that has dried for so long and has a fifth to go."""


@pytest.fixture
def site() -> tuple[Company, House]:
    """Three rooms in drying compound at 20 C and 50 %, taped by ten on Monday."""
    company, house = make_site(rooms=("Hall", "Kitchen", "Bath"), system="All-purpose drying")
    area = house.areas.get()
    CoatDone.objects.create(company=company, area=area, stage=Stage.TAPE, ended_at=TAPED)
    return company, house


def found_wet(company: Company, room: str, at: datetime = LOOKED, stage: str = "tape") -> Report:
    """Store a report whose next look is over by NOW, so that it holds nothing back itself."""
    return Report.objects.create(
        company=company,
        crew=Crew.objects.get(company=company),
        kind=Report.Kind.NOT_DRY,
        key=f"{Room.objects.get(area__company=company, name=room).public_id}:{stage}",
        at=at,
        said_at=at,
        again_at=at + timedelta(minutes=5),
    )


def inputs_of(company: Company, now: datetime = NOW) -> PlanInputs:
    return build_inputs(company=company, now=now)


def looks(inputs: PlanInputs) -> HouseLooks:
    (air,) = inputs.airs.values()
    return air.looks


def release_hours(inputs: PlanInputs) -> dict[str, float]:
    """Return by room how long after taping the second coat may start."""
    return {
        inputs.stages[task.id].room.name: (inputs.timeline.instant(task.release) - TAPED)
        / timedelta(hours=1)
        for task in inputs.problem.tasks
        if inputs.stages[task.id].stage is Stage.SECOND
    }


def second_coat_hours(inputs: PlanInputs) -> dict[str, float]:
    """Return by room what the finish coat waits for the second to dry, in hours of the air."""
    lags = {}
    for wait in inputs.problem.waits:
        before, after = inputs.stages[wait.before], inputs.stages[wait.after]
        if (before.stage, after.stage, wait.reason) == (Stage.SECOND, Stage.FINISH, "air"):
            end = inputs.problem.now + 12 * 24
            lags[before.room.name] = (inputs.problem.curves[wait.curve].ready(end) - end) / 12
    return lags


def second_coat(factor: float) -> float:
    return thickness_amount(STAGE_THICKNESS_MM[Stage.SECOND]) * factor * LAW_HOURS


def _pairs(before: PlanInputs, after: PlanInputs) -> Iterable[tuple[Task, Task]]:
    return zip(before.problem.tasks, after.problem.tasks, strict=True)


def test_a_coat_found_wet_needs_what_it_has_had_and_a_fifth(site: tuple[Company, House]) -> None:
    company, _ = site
    found_wet(company, "Hall")
    inputs = inputs_of(company)
    hours = release_hours(inputs)
    assert 0 <= hours["Hall"] - NEEDS * LAW_HOURS < A_TICK
    # Common practice, no published source: 24 hours after a drying coat.
    assert hours["Kitchen"] == hours["Bath"] == 24.0
    assert looks(inputs).thickness.house.code is HouseCode.TOO_FEW_COATS
    assert looks(inputs).since is None
    for lag in second_coat_hours(inputs).values():
        assert 0 <= lag - second_coat(1.0) < A_TICK


def test_two_coats_found_wet_make_every_coat_of_the_house_slow(
    site: tuple[Company, House],
) -> None:
    company, _ = site
    found_wet(company, "Hall", LOOKED - timedelta(hours=1))
    found_wet(company, "Kitchen")
    inputs = inputs_of(company)
    factor = NEEDS - 1 / LAW_HOURS  # the second most: of the coat looked at an hour earlier
    assert 1.3 < factor < 1.5
    assert looks(inputs).thickness.house.factor == pytest.approx(factor)
    assert looks(inputs).since == LOOKED
    assert 0 <= release_hours(inputs)["Bath"] - factor * LAW_HOURS < A_TICK
    lags = second_coat_hours(inputs)
    assert lags.keys() == {"Hall", "Kitchen", "Bath"}
    for lag in lags.values():
        assert 0 <= lag - second_coat(factor) < A_TICK


def test_the_curves_of_dust_and_of_the_temperature_go_with_it(site: tuple[Company, House]) -> None:
    company, _ = site
    before = inputs_of(company)
    found_wet(company, "Hall")
    found_wet(company, "Kitchen")
    after = inputs_of(company)
    factor = looks(after).thickness.house.factor
    for old, new in _pairs(before, after):
        if old.wet_curve and new.wet_curve:
            amount = before.drying[old.wet_curve].amount
            assert after.drying[new.wet_curve].amount == pytest.approx(amount * factor)
    slow = [limits.amount for limits in after.limits.values() if limits.amount]
    usual = [limits.amount for limits in before.limits.values() if limits.amount]
    assert slow == pytest.approx([amount * factor for amount in usual])


def test_a_house_whose_last_coat_is_left_as_it_is_counts_as_done_later(
    site: tuple[Company, House],
) -> None:
    company, _ = site
    company.stages = [Stage.TAPE, Stage.SECOND, Stage.FINISH]
    company.save()
    before = inputs_of(company)
    found_wet(company, "Hall")
    found_wet(company, "Kitchen")
    after = inputs_of(company)
    factor = looks(after).thickness.house.factor
    ends = [(old.done_curve, new.done_curve) for old, new in _pairs(before, after)]
    amounts = [
        (before.drying[old].amount, after.drying[new].amount) for old, new in ends if old and new
    ]
    assert len(amounts) == 3, "the finish coat of each room"
    for usual, slow in amounts:
        assert slow == pytest.approx(usual * factor)


def test_the_factor_is_bounded(site: tuple[Company, House]) -> None:
    company, _ = site
    late = LOOKED + timedelta(hours=20)
    found_wet(company, "Hall", late)
    found_wet(company, "Kitchen", late)
    house = looks(inputs_of(company, late + timedelta(hours=1))).thickness.house
    assert (house.code, house.factor) == (HouseCode.THICKER_AT_BOUND, 1.5)
    assert house.coats_say == pytest.approx(NEEDS + 20 / LAW_HOURS)


def test_reports_set_aside_leave_every_wait_as_it_was_to_the_tick(
    site: tuple[Company, House],
) -> None:
    company, house = site
    before = inputs_of(company)
    for room in ("Hall", "Kitchen", "Bath"):
        found_wet(company, room)
    counted = inputs_of(company)
    assert counted.problem != before.problem
    set_looks_aside(house=house, numbers=[1, 2, 3], aside=True, now=NOW)
    assert inputs_of(company).problem == before.problem
    set_looks_aside(house=house, numbers=[1, 2, 3], aside=False, now=NOW)
    assert inputs_of(company).problem == counted.problem


def test_one_of_several_set_aside_is_as_if_it_had_never_come(site: tuple[Company, House]) -> None:
    company, house = site
    found_wet(company, "Hall")
    without = inputs_of(company)
    found_wet(company, "Kitchen")
    set_looks_aside(house=house, numbers=[2], aside=True, now=NOW)
    assert inputs_of(company).problem == without.problem


def test_a_look_before_the_coat_was_to_be_dry_says_nothing(site: tuple[Company, House]) -> None:
    company, _ = site
    before = inputs_of(company)
    found_wet(company, "Hall", TAPED + timedelta(hours=2))
    found_wet(company, "Kitchen", TAPED + timedelta(hours=2))
    assert inputs_of(company).problem == before.problem


def test_a_coat_that_is_not_done_or_was_not_by_then_says_nothing(
    site: tuple[Company, House],
) -> None:
    company, _ = site
    found_wet(company, "Hall", TAPED - timedelta(hours=1))
    found_wet(company, "Kitchen", stage="second")
    assert looks(inputs_of(company)).looks == ()


def test_damp_air_that_is_put_on_record_later_explains_the_wet_coat(
    site: tuple[Company, House],
) -> None:
    company, _ = site
    found_wet(company, "Hall")
    found_wet(company, "Kitchen")
    hours = (TAPED + timedelta(hours=number) for number in count())
    damp = {hour: Reading(20.0, 0.9) for hour, _ in zip(hours, range(30), strict=False)}
    store_air(source=AirSource.objects.get(company=company), readings=damp)
    assert looks(inputs_of(company)).thickness.house.factor == 1.0


def test_what_was_found_weeks_ago_still_counts_the_same(site: tuple[Company, House]) -> None:
    company, _ = site
    found_wet(company, "Hall")
    found_wet(company, "Kitchen")
    early, late = (looks(inputs_of(company, NOW + timedelta(days=days))) for days in (0, 25))
    assert late.thickness.house.factor == pytest.approx(early.thickness.house.factor)
    assert late.since == early.since == LOOKED


def test_another_house_is_not_concerned(site: tuple[Company, House]) -> None:
    company, house = site
    found_wet(company, "Hall")
    found_wet(company, "Kitchen")
    other = make_house(company, "Weir House", rooms=("Den",))
    assert inputs_of(company).airs[str(other.public_id)].looks == NO_LOOKS
    assert looks_to_show(house=other, now=NOW) is None
    shown = looks_to_show(house=house, now=NOW)
    assert shown is not None
    assert [look.room.name for look in shown.looks] == ["Hall", "Kitchen"]


def test_numbers_that_there_are_not_are_named_at_once_and_nothing_is_changed(
    site: tuple[Company, House],
) -> None:
    company, house = site
    report = found_wet(company, "Hall")
    with pytest.raises(InputFaults) as refused:
        set_looks_aside(house=house, numbers=[1, 7, 9], aside=True, now=NOW)
    assert [str(fault) for fault in refused.value.faults] == [
        "report: no number 7; known: 1 to 1",
        "report: no number 9; known: 1 to 1",
    ]
    report.refresh_from_db()
    assert not report.set_aside
