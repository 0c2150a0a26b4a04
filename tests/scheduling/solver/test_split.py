"""Work that may be split over breaks and nights, against cases worked out by hand."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.solver.construct import construct
from scheduling.solver.evaluate import score_of
from scheduling.solver.outcome import Outcome, Score, Status
from scheduling.solver.problem import (
    Crew,
    Equipment,
    House,
    Placement,
    Problem,
    Span,
    Task,
    Window,
)
from scheduling.solver.starts import start_choices
from scheduling.solver.verify import verify
from tests.examples import examples

# Stretches after two ticks of set-up and before three of wash-up: 2-37, 46-57, 102-137.
WINDOWS = (Window(0, 40, 0), Window(44, 60, 0), Window(100, 140, 1))
LONG = Task("long", "a", "a1", 250, split=4)


def problem(task: Task = LONG, **changes: object) -> Problem:
    plain = Problem(
        origin="2026-03-02T00:00:00+00:00",
        horizon=300,
        crews=(Crew("ann", WINDOWS),),
        houses=(House("a"), House("b")),
        tasks=(task,),
        setup_ticks=2,
        washup_ticks=3,
    )
    return replace(plain, **changes)  # type: ignore[arg-type]


def heads(*numbers: int) -> tuple[Crew, ...]:
    pairs = zip(WINDOWS, numbers, strict=True)
    return (Crew("ann", tuple(replace(window, heads=number) for window, number in pairs)),)


def placed(site: Problem) -> dict[str, tuple[int, int]]:
    outcome = construct(site)
    assert verify(site, outcome) == []
    return {place.task: (place.start, place.end) for place in outcome.placements}


def codes(site: Problem, *places: Placement) -> list[str]:
    return [v.code for v in verify(site, Outcome(Status.FEASIBLE, places, score_of(site, places)))]


@pytest.mark.parametrize(
    ("task", "crews", "found"),
    [
        # 35 ticks, 11 over lunch, the 4 that are left on the next day.
        (LONG, heads(1, 1, 1), (2, 106)),
        # Those 4 would be too short a piece: a tick later, 5 are left.
        (replace(LONG, split=5), heads(1, 1, 1), (3, 107)),
        # Two heads need half the ticks for what is left: 5, 4 and 3 ticks later leave 4.
        (LONG, heads(1, 1, 2), (5, 106)),
        # A crew of two takes 25 ticks at one go, and no more than it has.
        (LONG, heads(2, 1, 1), (2, 27)),
        # With pieces of 12 or more the afternoon's 11 are passed over: 35, then 15.
        (replace(LONG, split=12), heads(1, 1, 1), (2, 117)),
        # Short enough for the morning; 12 is no concern then.
        (replace(LONG, person_minutes=40, split=12), heads(1, 1, 1), (2, 10)),
        # The crew's own minutes count whatever its heads.
        (replace(LONG, minutes_by_crew={"ann": 250}), heads(3, 3, 3), (2, 106)),
        # The area is closed from 30 to 35: 28, then 2 are too few, 11 and the last 11.
        (replace(LONG, open=(Span(0, 30), Span(35, 300))), heads(1, 1, 1), (2, 113)),
    ],
)
def test_pieces_fill_what_the_crew_has(
    task: Task, crews: tuple[Crew, ...], found: tuple[int, int]
) -> None:
    assert placed(problem(task, crews=crews)) == {"long": found}


def test_the_house_closes_in_the_middle_of_a_window() -> None:
    houses = (House("a", (Span(0, 20), Span(10, 24), Span(30, 300))),)
    # 2-24 and 30-37 are 29 ticks, 11 over lunch; 10 are left.
    assert placed(problem(houses=houses)) == {"long": (2, 112)}


def test_the_ways_to_the_base_and_back_are_kept_every_day() -> None:
    crews = (replace(heads(1, 1, 1)[0], base="yard"),)
    site = problem(crews=crews, travel={("yard", "a"): 6, ("a", "yard"): 4})
    # 8-37 is 29, 46-53 is 7 before the way home; 14 are left from 108 on.
    assert placed(site) == {"long": (8, 122)}


def test_a_window_that_lacks_the_skill_is_passed_over() -> None:
    windows = (WINDOWS[0], replace(WINDOWS[1], lacks=frozenset({"skim"})), WINDOWS[2])
    crews = (Crew("ann", windows, frozenset({"skim"})),)
    assert placed(problem(replace(LONG, skills=frozenset({"skim"})), crews=crews)) == {
        "long": (2, 117)
    }


def test_without_split_the_same_work_finds_no_place() -> None:
    (unplaced,) = construct(problem(replace(LONG, split=0))).unplaced
    assert unplaced.code == "too_long"


def test_the_crew_the_room_the_house_and_equipment_are_taken_from_start_to_end() -> None:
    ann, bob = heads(1, 1, 1)[0], Crew("bob", (Window(0, 300, 0),))
    others = (
        Task("hers", "a", "a2", 25, crews=("ann",)),
        Task("room", "a", "a1", 25, crews=("bob",)),
        Task("tool", "b", "b1", 25, crews=("bob",), needs=("tower",)),
    )
    first = replace(LONG, crews=("ann",), needs=("tower",))
    site = problem(tasks=(first, *others), crews=(ann, bob), equipment=(Equipment("tower"),))
    found = placed(site)
    assert found["long"] == (2, 106)
    assert found["hers"] == (106, 111)
    assert min(found["room"][0], found["tool"][0]) >= 106
    inside = replace(site, houses=(House("a", crews_inside=1), House("b")), equipment=())
    assert placed(replace(inside, tasks=(first, replace(others[1], room="a3"))))["room"][0] == 106


def test_every_day_of_split_work_is_a_visit_and_the_night_is_not_idle() -> None:
    windows = (*WINDOWS[:2], replace(WINDOWS[2], price=7))
    crews = (Crew("ann", windows),)
    after = Task("after", "a", "a2", 25)
    site = problem(tasks=(LONG, after), crews=crews, worthwhile_ticks=10, another_crew=3)
    places = (Placement("long", "ann", 2, 106), Placement("after", "ann", 108, 113))
    # Day 0 is a whole visit, day 1 has 4 + 5 ticks and counts twice; two idle ticks between them.
    # The paid time around lunch is wash-up and set-up. Nine ticks at 7 each.
    assert score_of(site, places) == Score(9 * 7, 1 + 2, 5 * 2, 106 + 113, 9 * 7)
    early = (Placement("long", "ann", 2, 106),)
    assert score_of(site, early).visits == 1 + 2


@pytest.mark.parametrize(
    ("code", "start", "end"),
    [
        ("duration", 2, 107),
        ("duration", 2, 105),
        ("outside_window", 1, 106),
        ("outside_window", 38, 120),
        ("outside_window", 2, 60),
        ("split", 35, 137),
        ("duration", 3, 106),
        ("outside_window", 102, 152),
    ],
)
def test_a_broken_split_is_caught(code: str, start: int, end: int) -> None:
    assert codes(problem(), Placement("long", "ann", 2, 106)) == []
    assert code in codes(problem(), Placement("long", "ann", start, end))


def test_too_short_a_last_piece_is_caught() -> None:
    assert codes(problem(replace(LONG, split=5)), Placement("long", "ann", 2, 106)) == ["split"]
    assert codes(problem(replace(LONG, split=5)), Placement("long", "ann", 3, 107)) == []


def test_a_fixed_split_task_is_where_it_is() -> None:
    held = Placement("long", "ann", 50, 110)
    site = problem(replace(LONG, fixed=held), another_crew=3)
    assert verify(site, construct(site)) == []
    # The pieces in its crew's stretches: 50-57 and 102-110.
    assert score_of(site, [held]).visits == 2
    gone = Placement("long", "gone", 50, 110)
    assert score_of(problem(replace(LONG, fixed=gone)), [gone]).visits == 1


@st.composite
def short_calendars(draw: st.DrawFn) -> Problem:
    """One task that may be split, one crew of three or four short windows with odd heads."""
    windows, start = [], 0
    for _ in range(draw(st.integers(3, 4))):
        start += draw(st.integers(0, 3))
        end = start + draw(st.integers(2, 8))
        lacks = draw(st.sampled_from([frozenset(), frozenset(), frozenset({"skim"})]))
        windows.append(Window(start, end, start // 12, draw(st.integers(1, 3)), lacks))
        start = end
    spans = st.none() | st.tuples(st.integers(0, 9), st.integers(4, 12)).map(
        lambda pair: (Span(0, pair[0] + 1), Span(pair[0], sum(pair)), Span(sum(pair) + 1, 40))
    )
    task = Task(
        "long",
        "a",
        "a1",
        draw(st.integers(1, 90)),
        skills=frozenset({"skim"}),
        starts=draw(st.none() | st.just((Span(2, 6), Span(9, 20)))),
        open=draw(spans),
        minutes_by_crew=draw(st.none() | st.just({"ann": 45})),
        split=draw(st.integers(1, 4)),
    )
    crew = Crew("ann", tuple(windows), frozenset({"skim"}), draw(st.sampled_from([None, "yard"])))
    return problem(
        task,
        horizon=draw(st.sampled_from([20, 40])),
        crews=(crew,),
        houses=(House("a", draw(spans)),),
        travel={("yard", "a"): 1, ("a", "yard"): 2},
        setup_ticks=draw(st.integers(0, 1)),
        washup_ticks=draw(st.integers(0, 1)),
    )


@examples(20, soak=60)
@given(short_calendars())
def test_the_starts_are_all_that_verify_accepts(site: Problem) -> None:
    (task,), (crew,) = site.tasks, site.crews
    choices = start_choices(task, site.houses[0].access, crew, site)
    ranges = zip(choices.lows, choices.highs, choices.durations, strict=True)
    found = [(tick, tick + ticks) for low, high, ticks in ranges for tick in range(low, high + 1)]
    sound = [
        (start, end)
        for start in range(crew.windows[-1].end)
        for end in range(start + 1, crew.windows[-1].end + 1)
        if codes(site, Placement("long", "ann", start, end)) == []
    ]
    assert found == sound
