"""What comes out of a store: never more than there is, nothing before the day of counting."""

from hypothesis import given
from hypothesis import strategies as st

from finishing.rules.packs import TINY
from finishing.rules.store import Counted, Taken, taken_from

SIZE = st.sampled_from([5.0, 12.5, 20.0])
DAY = st.integers(0, 30)
COUNTS = st.lists(st.builds(Counted, day=DAY, pack_size=SIZE, packs=st.integers(1, 9)), max_size=4)
TAKINGS = st.lists(
    st.builds(Taken, day=DAY, packs=st.lists(SIZE, max_size=4).map(tuple)), max_size=9
)


@given(COUNTS, TAKINGS)
def test_each_count_gives_from_nothing_to_all_of_it_and_together_what_was_opened(
    counts: list[Counted], takings: list[Taken]
) -> None:
    taken = taken_from(counts, takings)
    assert all(0 <= part <= count.amount for part, count in zip(taken, counts, strict=True))
    opened = sum(sum(one.packs) for one in takings)
    assert sum(taken) <= opened + TINY
    if all(count.day == 0 for count in counts):
        assert abs(sum(taken) - min(opened, sum(one.amount for one in counts))) < TINY


@given(COUNTS, TAKINGS)
def test_what_nobody_opened_anything_of_since_is_as_counted(
    counts: list[Counted], takings: list[Taken]
) -> None:
    last = max((one.day for one in takings), default=-1)
    taken = taken_from(counts, takings)
    assert not any(part for part, one in zip(taken, counts, strict=True) if one.day > last)


def test_packs_of_their_size_go_first_then_those_counted_longest_ago() -> None:
    counts = [Counted(3, 20.0, 2), Counted(1, 5.0, 4), Counted(2, 20.0, 1)]
    assert taken_from(counts, [Taken(2, (20.0,))]) == [0.0, 0.0, 20.0]
    assert taken_from(counts, [Taken(4, (20.0, 20.0)), Taken(2, (20.0,))]) == [40.0, 0.0, 20.0]
    assert taken_from(counts, [Taken(9, (20.0,) * 5)]) == [40.0, 20.0, 20.0]
