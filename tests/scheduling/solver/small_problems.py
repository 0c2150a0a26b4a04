"""Random small problems with every feature, for property tests."""

from dataclasses import replace

from hypothesis import strategies as st

from scheduling.solver.problem import (
    Crew,
    Equipment,
    Handover,
    House,
    Placement,
    Problem,
    ReadyCurve,
    Span,
    Task,
    Wait,
    Window,
    constant_lag,
)

DAYS, DAY = 4, 60
SKILLS = ("tape", "skim")
LEFT: tuple[tuple[tuple[str | None, tuple[str, ...]], ...], ...] = (
    *[((None, ()),)] * 4,
    ((None, ("dryer",)),),
    (("slow", ()),),
    (("slow", ()), ("quick", ("dryer",))),
    (("slow", ("mixer",)), ("quick", ("tower", "dryer"))),
)
"""Ways to leave a task, each with what it holds; None for a wait that always counts."""

REASONS = ("order", "set", "rule", "air")


@st.composite
def curves(draw: st.DrawFn) -> ReadyCurve:
    """A rising curve of a few steps, each with a lag or a floor that governs."""
    ends = sorted(draw(st.sets(st.integers(5, DAYS * DAY), min_size=1, max_size=4)))
    lags, floors, ready, before = [], [], 0, 0
    for end in ends:
        lag, jump = draw(st.integers(0, 30)), draw(st.integers(0, 25))
        # Within a step the answer rises to end + lag at most; the next may not fall below.
        floor = max(ready, before + 1) + jump
        lags.append(lag)
        floors.append(floor)
        ready, before = max(floor, end + lag), end
    return ReadyCurve(tuple(ends), tuple(lags), tuple(floors))


@st.composite
def crews(draw: st.DrawFn, number: int) -> Crew:
    windows = []
    for day in range(DAYS):
        if draw(st.integers(0, 5)):
            start = day * DAY + draw(st.integers(0, 8))
            noon = start + draw(st.integers(6, 18))
            rest = noon + draw(st.integers(0, 6))
            heads = draw(st.integers(1, 2))
            lacks = draw(st.sampled_from([frozenset(), frozenset({"skim"})]))
            price = draw(st.sampled_from([0, 0, 0, 7]))
            windows.append(Window(start, noon, day, heads, lacks))
            windows.append(Window(rest, rest + draw(st.integers(6, 18)), day, heads, price=price))
    skills = draw(st.sets(st.sampled_from(SKILLS), min_size=1))
    base = draw(st.sampled_from([None, "yard"]))
    return Crew(f"crew{number}", tuple(windows), frozenset(skills), base)


def spans() -> st.SearchStrategy[tuple[Span, ...] | None]:
    """None, or a few stretches of the days."""
    one = st.tuples(st.integers(0, DAYS * DAY), st.integers(10, 2 * DAY))
    some = st.lists(one, min_size=1, max_size=2)
    return st.none() | some.map(lambda pairs: tuple(Span(a, a + n) for a, n in sorted(pairs)))


@st.composite
def tasks(draw: st.DrawFn, number: int, curve_names: list[str], crew_ids: list[str]) -> Task:
    house = draw(st.integers(0, 2))
    dusty = draw(st.booleans())
    split = draw(st.sampled_from([0, 0, 1, 3, 5]))
    return Task(
        id=f"t{number}",
        house=f"h{house}",
        room=f"h{house}r{draw(st.integers(0, 2))}",
        person_minutes=draw(st.integers(1, 240 if split else 60)),
        split=split,
        run=draw(st.sampled_from([None, None, f"h{house}a", f"h{house}b"])),
        skills=frozenset(draw(st.sets(st.sampled_from(SKILLS), max_size=1))),
        crews=draw(st.sampled_from([None, None, None, (crew_ids[0],), tuple(crew_ids)])),
        release=draw(st.sampled_from([0, 0, 20, 90])),
        starts=draw(spans()) if draw(st.integers(0, 4)) == 0 else None,
        open=draw(spans()) if draw(st.integers(0, 4)) == 0 else None,
        batch_ticks=0 if split else draw(st.sampled_from([0, 0, 4])),
        air_space=f"h{house}",
        alone=draw(st.integers(0, 5)) == 0,
        dusty=dusty,
        wet_curve=None if dusty else draw(st.sampled_from([None, *curve_names])),
        grade=draw(st.sampled_from([None, None, 1, 2])),
        handover=draw(st.sampled_from([None, f"h{house}"])),
        done_curve=draw(st.sampled_from([None, *curve_names])),
        fixed=draw(fixings(number, crew_ids)) if draw(st.integers(0, 6)) == 0 else None,
        minutes_by_crew=draw(st.none() | own_minutes(crew_ids)),
        needs=draw(st.sampled_from([(), (), ("tower",), ("tower", "mixer")])),
    )


def own_minutes(crew_ids: list[str]) -> st.SearchStrategy[dict[str, int]]:
    """Minutes for at least one of the crews."""
    return st.dictionaries(st.sampled_from(crew_ids), st.integers(1, 60), min_size=1)


@st.composite
def fixings(draw: st.DrawFn, number: int, crew_ids: list[str]) -> Placement:
    start = draw(st.integers(-20, DAYS * DAY))
    crew = draw(st.sampled_from([*crew_ids, "gone"]))
    return Placement(f"t{number}", crew, start, start + draw(st.integers(1, 20)))


@st.composite
def alternatives(draw: st.DrawFn, before: str, after: str, names: list[str]) -> list[Wait]:
    """One wait, in some way or in any, perhaps with equipment; or two of which one counts."""

    def wait(way: str | None, holds: tuple[str, ...]) -> Wait:
        curve, reason = draw(st.sampled_from(names)), draw(st.sampled_from(REASONS))
        most = draw(st.sampled_from([None, None, None, 9, 40, 100]))
        return Wait(before, after, curve, reason, most, way, holds)

    return [wait(*left) for left in draw(st.sampled_from(LEFT))]


def left_in_a_way(task: Task, number: int, waits: tuple[Wait, ...]) -> Task:
    """A fixed task has one of the ways that its waits name."""
    ways = sorted({wait.way for wait in waits if wait.before == task.id and wait.way})
    if not task.fixed or not ways:
        return task
    return replace(task, fixed=replace(task.fixed, way=ways[number % len(ways)]))


@st.composite
def small_problems(draw: st.DrawFn, most_tasks: int = 12, fewest_tasks: int = 1) -> Problem:
    count = draw(st.integers(fewest_tasks, most_tasks))
    team = [draw(crews(number)) for number in range(draw(st.integers(1, 3)))]
    named = {"none": constant_lag(0), "short": constant_lag(9), "early": constant_lag(-2)}
    named |= {f"air{number}": draw(curves()) for number in range(2)}
    work = [draw(tasks(n, ["short", "air0"], [crew.id for crew in team])) for n in range(count)]
    pairs = draw(st.lists(st.tuples(*[st.integers(0, count - 1)] * 2), max_size=count))
    waits = tuple(
        wait
        for pair in pairs
        if pair[0] != pair[1]
        for wait in draw(alternatives(f"t{min(pair)}", f"t{max(pair)}", sorted(named)))
    )
    work = [left_in_a_way(task, draw(st.integers(0, 9)), waits) for task in work]
    names = ["h0", "h1", "h2"]
    places = [*names, *sorted({crew.base for crew in team if crew.base})]
    return Problem(
        origin="2026-01-01T00:00:00+00:00",
        horizon=draw(st.sampled_from([DAYS * DAY, 2 * DAY + 30])),
        crews=tuple(team),
        houses=tuple(
            House(
                name,
                draw(spans()),
                draw(st.sampled_from([None, 1, 2])),
                draw(st.sampled_from([0, 0, 0, 30])),
            )
            for name in names
        ),
        equipment=(Equipment("tower"), Equipment("mixer", 2), Equipment("dryer")),
        tasks=tuple(work),
        handovers=tuple(
            Handover(name, name, draw(st.integers(0, 3 * DAY)), draw(st.integers(0, 3)))
            for name in names
        ),
        waits=waits,
        curves=named,
        travel={(a, b): draw(st.integers(0, 6)) for a in places for b in places if a != b},
        now=draw(st.sampled_from([0, 15])),
        setup_ticks=draw(st.integers(0, 2)),
        washup_ticks=draw(st.integers(0, 2)),
        worthwhile_ticks=draw(st.integers(0, 8)),
        another_crew=draw(st.sampled_from([0, 0, 2])),
    )
