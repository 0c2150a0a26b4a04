"""Chains of reasons behind late promises, against plans worked out by hand."""

from dataclasses import replace

from hypothesis import given

from scheduling.solver.chain import late_chains
from scheduling.solver.construct import construct
from scheduling.solver.evaluate import handover_finishes
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
from tests.scheduling.solver.small_problems import small_problems

DAYS = Crew("ann", tuple(Window(day * 100, day * 100 + 40, day) for day in range(5)))

SITE = Problem(
    origin="2026-03-02T00:00:00+00:00",
    horizon=500,
    crews=(DAYS,),
    houses=(House("a"), House("b")),
    tasks=(
        Task("other", "b", "b", 50, handover="b"),
        Task("tape", "a", "a", 100, handover="a"),
        Task("second", "a", "a", 100, handover="a"),
    ),
    handovers=(Handover("a", "a", 120), Handover("b", "b", 10)),
    waits=(Wait("tape", "second", "dry", "air"),),
    curves={"dry": constant_lag(110), "none": constant_lag(0)},
)


def told(problem: Problem) -> dict[str, list[tuple[str, str, str]]]:
    """Return per late promise its chain as (task, code, code behind)."""
    chains = late_chains(problem, construct(problem).placements)
    return {
        chain.handover: [
            (link.task, link.reason.code, link.behind.code if link.behind else "")
            for link in chain.links
        ]
        for chain in chains
    }


def test_a_wait_leads_to_the_coat_and_that_to_what_its_crew_did_before() -> None:
    # other 0-10, tape 10-30, dry at 140 when the crew has gone home, second 200-220.
    assert told(SITE) == {
        "a": [("second", "window", "air"), ("tape", "crew", ""), ("other", "window", "now")]
    }


def test_a_wait_that_ends_in_working_hours_binds_by_itself() -> None:
    chains = late_chains(
        replace(SITE, curves={"dry": constant_lag(75), "none": constant_lag(0)}),
        construct(
            replace(SITE, curves={"dry": constant_lag(75), "none": constant_lag(0)})
        ).placements,
    )
    (chain,) = [chain for chain in chains if chain.handover == "a"]
    first = chain.links[0]
    assert (first.reason.code, first.reason.other, first.reason.tick) == ("air", "tape", 105)
    assert first.behind is None


def test_a_chain_ends_where_the_house_opens() -> None:
    only = tuple(task for task in SITE.tasks if task.house == "a")
    late = replace(SITE, tasks=only, handovers=SITE.handovers[:1])
    by_task = replace(late, tasks=tuple(replace(task, release=20) for task in only))
    by_house = replace(late, houses=tuple(replace(house, release=20) for house in SITE.houses))
    for problem in (by_task, by_house):
        assert told(problem) == {"a": [("second", "window", "air"), ("tape", "release", "")]}


def test_what_a_coat_takes_to_dry_counts_towards_the_promise() -> None:
    tasks = (Task("last", "a", "a", 50, handover="a", done_curve="dry"),)
    problem = replace(SITE, tasks=tasks, waits=(), handovers=(Handover("a", "a", 115),))
    (chain,) = late_chains(problem, construct(problem).placements)
    assert (chain.ended, chain.done, chain.due) == (10, 120, 115)


def test_promises_kept_or_unplanned_have_no_chain() -> None:
    kept = tuple(replace(row, due=400) for row in SITE.handovers)
    assert told(replace(SITE, handovers=kept)) == {}
    nobody = tuple(replace(task, skills=frozenset({"rare"})) for task in SITE.tasks)
    assert told(replace(SITE, tasks=nobody)) == {}


@given(small_problems())
def test_every_late_promise_has_a_chain_of_its_tasks_back_in_time(problem: Problem) -> None:
    outcome = construct(problem)
    places = {place.task: place for place in outcome.placements}
    chains = {chain.handover: chain for chain in late_chains(problem, outcome.placements)}
    finishes = handover_finishes(problem, places)
    open_still = {t.handover for t in problem.tasks if t.id not in places}
    late = {
        row.id
        for row in problem.handovers
        if finishes.get(row.id, row.due) > row.due and row.id not in open_still
    }
    assert chains.keys() == late
    for chain in chains.values():
        names = [link.task for link in chain.links]
        assert len(set(names)) == len(names)
        assert chain.done == finishes[chain.handover]
        for link in chain.links:
            assert link.reason.tick <= places[link.task].start
            assert link.behind is None or link.behind.tick <= places[link.task].start


def test_crews_under_way_in_a_house_that_is_too_full_for_them() -> None:
    """Beyond every rule, as they have begun: the third begins while two others go on."""
    places = [Placement("a", "ann", 0, 2), Placement("b", "bea", 1, 2), Placement("c", "cor", 1, 2)]
    problem = replace(
        SITE,
        crews=tuple(replace(DAYS, id=place.crew) for place in places),
        houses=(House("a", crews_inside=1),),
        tasks=tuple(Task(p.task, "a", p.task, 10, handover="a", fixed=p) for p in places),
        handovers=(Handover("a", "a", 0),),
        waits=(),
        now=5,
    )
    (chain,) = late_chains(problem, places)
    assert chain.handover == "a"
