"""Which published visit a new block of work is, so that calendars move it and keep it."""

from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class Work[T]:
    """A visit or a block, as far as matching goes. place: crew and house; both must be equal."""

    item: T
    place: Hashable
    starts_at: datetime
    task_minutes: Mapping[str, int]


def match_work[O, N](
    old: Iterable[Work[O]], new: Sequence[Work[N]]
) -> tuple[list[tuple[O, N]], list[O], list[N]]:
    """Return pairs, and what is left of the old and of the new.

    Pairs share tasks; most shared minutes first, then earliest. So a split leaves the old visit
    with its larger part, a merge ends the smaller one, and another crew starts a new one.
    """
    old = list(old)
    candidates = sorted(
        (-shared, n.starts_at, o.starts_at, i, j)
        for i, o in enumerate(old)
        for j, n in enumerate(new)
        if o.place == n.place and (shared := _shared_minutes(o, n))
    )
    paired: dict[int, int] = {}
    taken: set[int] = set()
    for *_, i, j in candidates:
        if i not in paired and j not in taken:
            paired[i] = j
            taken.add(j)
    return (
        [(old[i].item, new[j].item) for i, j in paired.items()],
        [o.item for i, o in enumerate(old) if i not in paired],
        [n.item for j, n in enumerate(new) if j not in taken],
    )


def _shared_minutes[O, N](old: Work[O], new: Work[N]) -> int:
    return sum(
        min(minutes, new.task_minutes.get(key, 0)) for key, minutes in old.task_minutes.items()
    )
