"""What is called impossible is so: no plan found by counting through all of them."""

from dataclasses import replace

from hypothesis import assume, given
from hypothesis import strategies as st

from scheduling.solver.construct import construct
from scheduling.solver.impossible import proved_impossible
from scheduling.solver.outcome import Outcome, Score, Status, Unplaced
from scheduling.solver.problem import Crew, House, Problem, Task, Wait, Window, constant_lag
from tests.examples import examples
from tests.scheduling.solver.small_problems import small_problems
from tests.scheduling.solver.test_exact import least_by_counting, tiny_problems


def one_crew(*tasks: Task, waits: tuple[Wait, ...] = (), lag: int = 0) -> Problem:
    """One crew with ticks 0 to 10."""
    return Problem(
        origin="2026-01-01T00:00:00+00:00",
        horizon=10,
        crews=(Crew("c", (Window(0, 10, 0),)),),
        houses=(House("h"),),
        tasks=tasks,
        waits=waits,
        curves={"lag": constant_lag(lag)},
    )


def proved(problem: Problem) -> list[tuple[str, str]]:
    return [(i.task, i.code) for i in proved_impossible(problem, construct(problem))]


def test_reasons_by_hand() -> None:
    task = Task("a", "h", "r", person_minutes=25)
    assert proved(one_crew(replace(task, person_minutes=55))) == [("a", "too_long")]
    assert proved(one_crew(replace(task, crews=()))) == [("a", "no_crew")]
    assert proved(one_crew(replace(task, release=6))) == [("a", "no_open_time")]
    assert proved(one_crew(replace(task, release=5))) == []
    later = Task("b", "h", "s", person_minutes=25)
    wait = (Wait("a", "b", "lag"),)
    assert proved(one_crew(task, later, waits=wait, lag=0)) == []
    assert proved(one_crew(task, later, waits=wait, lag=1)) == [("b", "no_open_time")]


def test_too_little_room_is_no_proof() -> None:
    tasks = [Task(name, "h", name, person_minutes=30) for name in "ab"]
    outcome = construct(one_crew(*tasks))
    assert [item.code for item in outcome.unplaced] == ["no_room"]
    assert proved_impossible(one_crew(*tasks), outcome) == ()


def test_a_claim_without_grounds_is_not_believed() -> None:
    claim = Unplaced("a", "no_crew")
    outcome = Outcome(Status.PARTIAL, (), Score(0, 0, 0, 0), (claim,))
    assert proved_impossible(one_crew(Task("a", "h", "r", 25)), outcome) == ()


@examples(6, soak=15)
@given(problem=tiny_problems(), cut=st.integers(4, 12))
def test_no_plan_exists_where_a_task_is_called_impossible(problem: Problem, cut: int) -> None:
    short = replace(problem, horizon=cut)
    outcome = construct(short)
    if proved_impossible(short, outcome):
        assert least_by_counting(short) is None


@examples(20, soak=60)
@given(problem=small_problems())
def test_nothing_placed_by_the_planner_is_called_impossible(problem: Problem) -> None:
    # What is fixed lies where it lies, and its lags are nobody's claim.
    fixed = {task.id for task in problem.tasks if task.fixed}
    assume(not any(w.most is not None and {w.before, w.after} & fixed for w in problem.waits))
    outcome = construct(problem)
    placed = [place.task for place in outcome.placements if place.task not in fixed]
    claims = tuple(Unplaced(task, "no_room") for task in placed)
    assert proved_impossible(problem, replace(outcome, unplaced=claims)) == ()
