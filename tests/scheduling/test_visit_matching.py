"""Which published visit a new block of work is."""

from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from scheduling.services.visit_matching import Work, match_work

MONDAY = datetime(2026, 3, 2, 7, tzinfo=UTC)


def work(name: str, day: int, minutes: dict[str, int], place: str = "here") -> Work[str]:
    return Work(name, place, MONDAY + timedelta(days=day), minutes)


def test_most_shared_minutes_win_over_earliest() -> None:
    old = [work("A", 0, {"tape": 60, "second": 240})]
    new = [work("a", 0, {"tape": 60}), work("b", 3, {"second": 240})]
    assert match_work(old, new) == ([("A", "b")], [], ["a"])


def test_a_tie_goes_to_the_earliest() -> None:
    old = [work("A", 0, {"tape": 60, "second": 60})]
    new = [work("later", 2, {"second": 60}), work("sooner", 1, {"tape": 60})]
    assert match_work(old, new) == ([("A", "sooner")], [], ["later"])


def test_shared_tasks_at_another_place_are_another_visit() -> None:
    old, new = [work("A", 0, {"tape": 60})], [work("a", 0, {"tape": 60}, place="there")]
    assert match_work(old, new) == ([], ["A"], ["a"])


def test_nothing_shared_is_another_visit_even_at_the_same_time() -> None:
    old, new = [work("A", 0, {"tape": 60})], [work("a", 0, {"second": 60})]
    assert match_work(old, new) == ([], ["A"], ["a"])


works = st.lists(
    st.builds(
        lambda day, minutes, place: (day, minutes, place),
        st.integers(0, 5),
        st.dictionaries(st.sampled_from("abcde"), st.integers(1, 300), max_size=4),
        st.sampled_from(["here", "there"]),
    ),
    max_size=7,
)


def numbered(rows: list[tuple[int, dict[str, int], str]]) -> list[Work[int]]:
    return [
        Work(number, place, MONDAY + timedelta(days=day), minutes)
        for number, (day, minutes, place) in enumerate(rows)
    ]


@given(works, works)
def test_each_is_paired_once_or_left_and_none_that_could_be_paired_is_left(
    old_rows: list[tuple[int, dict[str, int], str]],
    new_rows: list[tuple[int, dict[str, int], str]],
) -> None:
    old, new = numbered(old_rows), numbered(new_rows)
    pairs, gone, fresh = match_work(old, new)
    assert sorted([o for o, _ in pairs] + gone) == list(range(len(old)))
    assert sorted([n for _, n in pairs] + fresh) == list(range(len(new)))
    for o, n in pairs:
        assert old[o].place == new[n].place
        assert old[o].task_minutes.keys() & new[n].task_minutes.keys()
    for o in gone:
        for n in fresh:
            shared = old[o].task_minutes.keys() & new[n].task_minutes.keys()
            assert old[o].place != new[n].place or not shared


@given(works)
def test_a_plan_that_did_not_change_matches_itself(
    rows: list[tuple[int, dict[str, int], str]],
) -> None:
    """Where no two visits share a task, as in a plan, each keeps its identity."""
    seen: set[str] = set()
    alone = []
    for day, minutes, place in rows:
        own = {key: value for key, value in minutes.items() if key not in seen}
        seen |= own.keys()
        if own:
            alone.append((day, own, place))
    pairs, gone, fresh = match_work(numbered(alone), numbered(alone))
    assert sorted(pairs) == [(n, n) for n in range(len(alone))]
    assert (gone, fresh) == ([], [])
