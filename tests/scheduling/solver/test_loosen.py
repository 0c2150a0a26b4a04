"""Conflicts on tiny problems, against going through every plan."""

from hypothesis import assume, given
from hypothesis import strategies as st

from scheduling.solver.conflict import conflict, with_all_before
from scheduling.solver.construct import construct
from scheduling.solver.loosen import Ground, loosened, rules_in_force, without
from scheduling.solver.outcome import Limits
from scheduling.solver.problem import (
    Crew,
    Equipment,
    House,
    Placement,
    Problem,
    Span,
    Task,
    Wait,
    Window,
    constant_lag,
)
from tests.examples import examples
from tests.scheduling.solver.counting import Counting

HORIZON = 9
ENOUGH = Limits(work=1_000_000)


def spans() -> st.SearchStrategy[tuple[Span, ...] | None]:
    one = st.tuples(st.integers(0, 6), st.integers(1, 5)).map(lambda p: (Span(p[0], sum(p)),))
    return st.sampled_from([None] * 15 + [1]).flatmap(lambda n: one if n else st.none())


@st.composite
def tasks(draw: st.DrawFn, number: int) -> Task:
    house = draw(st.sampled_from("ab"))
    dusty, split = draw(st.booleans()), draw(st.sampled_from([0, 0, 0, 2]))
    fixed = None
    if draw(st.integers(0, 7)) == 0:
        start = draw(st.integers(0, 5))
        fixed = Placement(f"t{number}", "c0", start, start + 2)
    return Task(
        id=f"t{number}",
        house=house,
        room=f"{house}{draw(st.integers(0, 1))}",
        person_minutes=5 * draw(st.integers(2, 4)),
        # A run with a fixed task: whose crew it keeps cannot be told from two tasks alone.
        run=None if fixed else draw(st.sampled_from([None, "run"])),
        skills=draw(st.sampled_from([frozenset()] * 7 + [frozenset({"skim"})])),
        crews=draw(st.sampled_from([None] * 6 + [("c0",), ("c1",)])),
        release=draw(st.sampled_from([0, 0, 0, 3])),
        starts=draw(spans()),
        open=draw(spans()),
        batch_ticks=0 if split else draw(st.sampled_from([0, 0, 2])),
        split=split,
        air_space=house,
        dusty=dusty,
        wet_curve=None if dusty else draw(st.sampled_from([None, "two"])),
        grade=draw(st.sampled_from([None, 1, 2])),
        alone=draw(st.integers(0, 3)) == 0,
        needs=draw(st.sampled_from([(), ("tower",)])),
        fixed=fixed,
    )


@st.composite
def crowded_problems(draw: st.DrawFn) -> Problem:
    """Two or three tasks in too little time, with every kind of rule."""
    count = draw(st.sampled_from([2, 3, 3]))
    noon = draw(st.integers(2, 4))
    pairs = st.sampled_from([(0, 1), (1, 2), (0, 2)] if count == 3 else [(0, 1)])
    lags = st.tuples(pairs, st.sampled_from(["none", "two", "four"]), st.sampled_from([None, 1]))
    return Problem(
        origin="2026-01-01T00:00:00+00:00",
        horizon=HORIZON,
        crews=(
            Crew("c0", (Window(0, noon, 0), Window(noon + 2, 8, 0)), base=draw(base())),
            Crew("c1", (Window(1, 8, 0),), frozenset({"skim"})),
        )[: draw(st.integers(1, 2))],
        houses=tuple(
            House(name, draw(spans()), draw(st.sampled_from([None, 1])), release)
            for name in "ab"
            for release in [draw(st.sampled_from([0, 0, 2]))]
        ),
        tasks=tuple(draw(tasks(number)) for number in range(count)),
        waits=tuple(
            Wait(f"t{one}", f"t{two}", curve, "rule", most)
            for (one, two), curve, most in draw(st.lists(lags, max_size=2))
        ),
        curves={"none": constant_lag(0), "two": constant_lag(2), "four": constant_lag(4)},
        travel={("a", "b"): 1, ("b", "a"): 1, ("yard", "a"): 1, ("b", "yard"): 1},
        setup_ticks=draw(st.integers(0, 1)),
        equipment=(Equipment("tower"),),
    )


def base() -> st.SearchStrategy[str | None]:
    return st.sampled_from([None, "yard"])


def plan_exists(problem: Problem) -> bool:
    return Counting(problem).least_cost() is not None


@examples(10, soak=25)
@given(problem=crowded_problems())
def test_what_is_named_conflicts_and_nothing_of_it_can_be_spared(problem: Problem) -> None:
    first = construct(problem)
    free = {task.id for task in problem.tasks if not task.fixed}
    unplaced = [item.task for item in first.unplaced if item.code != "after_unplaced"]
    assume(free.intersection(unplaced))
    task = next(name for name in unplaced if name in free)
    placed = {place.task for place in first.placements}
    found = conflict(problem, task, placed, ENOUGH, lambda: 0.0)

    needed = with_all_before(problem, task)
    case = without(problem, {t.id for t in problem.tasks} - needed - placed)
    rules = rules_in_force(case, needed)

    def only(*kept: Ground) -> Problem:
        return loosened(case, [ground for ground in rules if ground not in kept], needed)

    if not found:
        assert plan_exists(case) or not plan_exists(only())
        return
    assert not plan_exists(case)
    assert not plan_exists(only(*found))
    for spared in found:
        assert plan_exists(only(*(ground for ground in found if ground != spared)))
