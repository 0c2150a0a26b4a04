"""Windows at a price, and houses kept with one crew: what is chosen, against sums done by hand."""

from dataclasses import replace
from random import Random

import pytest

from scheduling.solver.bound import cost_bound
from scheduling.solver.compiled import compile_problem
from scheduling.solver.construct import construct, first_draft
from scheduling.solver.evaluate import score_of
from scheduling.solver.outcome import Limits, Score, Status
from scheduling.solver.problem import (
    Crew,
    Handover,
    House,
    Placement,
    Problem,
    Task,
    Wait,
    Window,
    constant_lag,
)
from scheduling.solver.solve import solve
from scheduling.solver.tally import key_of
from scheduling.solver.verify import verify
from scheduling.solver.walk import Walk
from tests.scheduling.solver.streets import street

FRIDAY, SATURDAY, MONDAY = Window(0, 20, 0), Window(100, 120, 1, price=6), Window(300, 320, 2)


def last_coat(weight: int, price: int) -> Problem:
    """Friday's coat is dry on Saturday: eight ticks of the last one then, or on Monday."""
    return Problem(
        origin="2026-03-06T00:00:00+00:00",
        horizon=400,
        crews=(Crew("ann", (FRIDAY, replace(SATURDAY, price=price), MONDAY)),),
        houses=(House("a"),),
        tasks=(Task("first", "a", "a1", 50), Task("last", "a", "a1", 40, handover="a")),
        handovers=(Handover("a", "a", 298, weight),),
        waits=(Wait("first", "last", "dry"),),
        curves={"dry": constant_lag(60)},
    )


@pytest.mark.parametrize(
    ("weight", "price", "start", "score"),
    [
        # Monday is ten ticks, fifty weighted minutes late; Saturday costs eight times its price.
        (1, 6, 100, Score(48, 2, 0, 108, 48)),
        (1, 7, 300, Score(50, 2, 0, 308, 0)),
        (2, 7, 100, Score(56, 2, 0, 108, 56)),
        (0, 1, 300, Score(0, 2, 0, 308, 0)),
    ],
)
def test_a_saturday_is_worked_where_it_is_worth_its_price(
    weight: int, price: int, start: int, score: Score
) -> None:
    problem = last_coat(weight, price)
    outcome = solve(problem, Limits(work=60), lambda: 0.0)
    assert verify(problem, outcome) == []
    assert [place.start for place in outcome.placements] == [0, start]
    assert (outcome.score, outcome.status) == (score, Status.OPTIMAL)
    assert outcome.score.lateness == score.cost - score.extra


def test_the_bound_counts_what_has_to_be_paid() -> None:
    problem = last_coat(1, 6)
    only = replace(problem, crews=(Crew("ann", (FRIDAY, SATURDAY)),))
    assert cost_bound(compile_problem(only)) == 48
    held = replace(problem.tasks[1], fixed=Placement("last", "ann", 98, 122))
    fixed = replace(problem, tasks=(problem.tasks[0], held))
    # What is fixed pays for the twenty ticks that it has of the window.
    assert cost_bound(compile_problem(fixed)) == construct(fixed).score.extra == 120


def test_the_walk_leaves_extra_windows_that_bring_nothing() -> None:
    plain = street(houses=3, rooms=3, crews=2, days=30, slack=20)
    dear = [
        replace(crew, windows=tuple(replace(w, price=50 * (w.day % 7 == 4)) for w in crew.windows))
        for crew in plain.crews
    ]
    problem = replace(plain, crews=tuple(dear))
    draft = first_draft(compile_problem(problem))
    walk = Walk(draft, Random(1))
    best = key_of(draft)
    for number in range(300):
        if walk.step(number / 300):
            best = min(best, walk.key)
    # There is time enough on the other days.
    assert (best.score.cost, best.score.extra) == (0, 0)


def test_a_house_stays_with_one_crew_where_that_is_all_the_same() -> None:
    crews = (Crew("ann", (Window(0, 50, 0),)), Crew("bob", (Window(0, 50, 0),)))
    places = tuple(Placement(f"t{n}", crews[n % 2].id, 0, 10) for n in range(2))
    problem = Problem(
        origin="2026-03-06T00:00:00+00:00",
        horizon=60,
        crews=crews,
        houses=(House("a"),),
        tasks=tuple(Task(f"t{n}", "a", f"a{n}", 50) for n in range(2)),
        another_crew=3,
    )
    # Two visits and a crew more in the house, against one visit of one crew.
    assert score_of(problem, places).visits == 2 + 3
    outcome = solve(problem, Limits(work=60), lambda: 0.0)
    assert outcome.score.visits == 1
    assert len({place.crew for place in outcome.placements}) == 1
    three = replace(problem.tasks[0], id="t2", room="a2")
    more = replace(problem, tasks=(*problem.tasks, three), crews=(*crews, Crew("eve", ())))
    assert score_of(more, (*places, Placement("t2", "eve", 0, 10))).visits == 3 + 2 * 3
