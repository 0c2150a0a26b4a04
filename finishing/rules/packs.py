"""Which packs cover a need: the fewest that leave less over than the smallest pack holds.

Leaving least over instead would heap up small tubs, each dear for what it holds, to save a kilo of
a large pail.
"""

from collections.abc import Sequence
from functools import lru_cache
from math import ceil, gcd, inf

TINY = 1e-6
"""Kg, metres or pieces that nobody could tell from none."""
_FINEST = 0.001
"""Sizes and needs are counted in so much (a gram, a millimetre) while mixes are compared."""
_MOST_STEPS = 20_000
"""Needs of more smallest common parts than this are filled up with the largest pack first."""

type Packs = tuple[float, ...]
"""Sizes of packs, one entry for each pack, the largest first."""


def best_packs(need: float, sizes: Sequence[float]) -> Packs:
    """Return the fewest packs that hold ``need`` and less than the smallest pack beyond it; of
    these the ones that leave least over.

    need, sizes: in one unit (kg, m, pieces). No need asks for no pack. Raises ValueError for a
    need of packs where there is no size, and for a size that holds less than a gram or millimetre.
    """
    if need <= TINY:
        return ()
    if not sizes or min(sizes) < _FINEST:
        raise ValueError("a need is covered by packs that hold something")
    by_part = {_part(size): float(size) for size in sizes}
    parts = tuple(sorted(by_part, reverse=True))
    wanted = max(1, ceil((need - TINY) / _FINEST))
    step = gcd(*parts)
    counted = tuple(size // step for size in parts)
    steps = -(-wanted // step)
    bulk = max(0, steps - _MOST_STEPS) // counted[0]
    chosen = [counted[0]] * bulk + [*_best(steps - bulk * counted[0], counted)]
    return tuple(by_part[part * step] for part in sorted(chosen, reverse=True))


def _part(size: float) -> int:
    """Return how much a pack is counted as: rounded down, so that packs never hold less."""
    return int(size / _FINEST + TINY)


@lru_cache(maxsize=4096)
def _best(steps: int, sizes: tuple[int, ...]) -> tuple[int, ...]:
    """Return the fewest sizes of which the sum is ``steps`` or more, by less than the smallest."""
    most = steps + sizes[-1] - 1  # the smallest pack alone never leaves more over
    fewest = [0.0] + [inf] * most
    last = [0] * (most + 1)
    for total in range(1, most + 1):
        for size in sizes:
            if size <= total and fewest[total - size] + 1 < fewest[total]:
                fewest[total], last[total] = fewest[total - size] + 1, size
    total = min(range(steps, most + 1), key=fewest.__getitem__)
    found = []
    while total:
        found.append(last[total])
        total -= last[total]
    return tuple(found)
