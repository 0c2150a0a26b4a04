"""Set is not dry: water still in a coat is carried into the drying of those over it.

Seen from the air, a wall is a store of water that drains at one rate (one unit of progress at a
time) and is filled by each coat as it ends. Like the queue of a server that never idles while
there is work, it is empty at ``max over k of P^-1(P(e_k) + A_k + A_k+1 + ...)``: the coat k that
gives the maximum is the one that last found everything dry.
"""

from collections.abc import Sequence

from finishing.rules.drying import dry_at
from finishing.rules.units import FloatArray


def drain_terms(amounts: Sequence[float], dry_between: Sequence[bool]) -> list[tuple[int, float]]:
    """Return (k, amount) pairs: all is dry when, for every pair, the air has dried that amount
    since coat k ended.

    amounts: drying each coat needs, in order of coating, alone. dry_between: for each coat but
    the last, whether everything had to be dry before the next; coats before the last such point
    carry nothing over and are left out. Raises ValueError on uneven lengths.
    """
    if len(dry_between) != max(len(amounts) - 1, 0):
        raise ValueError("dry_between: must have one value fewer than amounts")
    dry_points = [k + 1 for k, dry in enumerate(dry_between) if dry]
    first = dry_points[-1] if dry_points else 0
    return [(k, float(sum(amounts[k:]))) for k in range(first, len(amounts))]


def gone_at(
    progress: FloatArray, end_hours: Sequence[float], terms: Sequence[tuple[int, float]]
) -> float:
    """Return the hour at which all water has gone.

    progress: drying done at each hour edge; end_hours: when each coat ended, hours from the start
    of that series; terms: from :func:`drain_terms`. Infinite where the series is too short.
    """
    return max((float(dry_at(progress, end_hours[k], amount)) for k, amount in terms), default=0.0)
