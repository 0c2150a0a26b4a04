"""Person-minutes of a stage of a surface, from rates (rates.py) and what makes work slower."""

from collections.abc import Iterable, Iterator, Mapping

from finishing.rules.coats import StageWork
from finishing.rules.default_rates import DEFAULT_RATES
from finishing.rules.rates import Rate, RateError, rate_table
from finishing.rules.vocabulary import JointKind, Stage

__all__ = ["DEFAULT_RATES", "Rate", "RateError", "person_minutes"]

CEILING_FACTOR = 0.129 / 0.097
"""Ceilings to walls at level 4 (Building Construction Cost Data, from memory)."""
SKIM_CEILING_FACTOR = 0.054 / 0.043
"""Ceilings to walls when skimming (same source, from memory)."""
HEIGHT_FACTORS: tuple[tuple[float, float], ...] = ((3.6, 1.25), (2.7, 1.10))
"""Above so many metres, work takes so much longer: an assumption."""
STAIRWELL_FACTOR = 1.30
"""Tower, ladders and carrying: an assumption."""

_SKIM_STAGES = frozenset({Stage.SKIM, Stage.SKIM_SAND})


def person_minutes(
    stage_work: StageWork,
    quantities: Mapping[JointKind, float],
    *,
    area_m2: float,
    is_ceiling: bool,
    height_m: float,
    is_stairwell: bool,
    rates: Iterable[Rate],
) -> float:
    """Return the person-minutes of a stage of one surface, set-up and wash-up left out.

    quantities: metres of each joint kind and the count of fasteners. height_m: of the room.
    Raises :class:`RateError` for faulty rates and for work that no rate covers.
    """
    table = rate_table(rates)
    wanted = list(_amounts(stage_work, quantities, area_m2))
    missing = [kind for kind, _, _ in wanted if (stage_work.stage, kind) not in table]
    if missing:
        raise RateError([f"rate for {stage_work.stage}, {kind}: there is none" for kind in missing])
    minutes = 0.0
    for kind, quantity, share in wanted:
        rate = table[stage_work.stage, kind]
        minutes += rate.minutes * share * (area_m2 if rate.per == "m2" else quantity)
    return minutes * _factor(
        stage_work.stage, is_ceiling=is_ceiling, height_m=height_m, is_stairwell=is_stairwell
    )


def _amounts(
    work: StageWork, quantities: Mapping[JointKind, float], area_m2: float
) -> Iterator[tuple[JointKind, float, float]]:
    """Yield the kinds with something to do, their quantity and the share of it."""
    for kind, share in work.kinds.items():
        quantity = area_m2 if kind is JointKind.SURFACE else quantities.get(kind, 0.0)
        if quantity > 0 and share > 0:
            yield kind, quantity, share
    if work.cornice_m > 0:
        yield JointKind.INTERNAL, work.cornice_m, 1.0


def _factor(stage: Stage, *, is_ceiling: bool, height_m: float, is_stairwell: bool) -> float:
    factor = next((times for above_m, times in HEIGHT_FACTORS if height_m > above_m), 1.0)
    if is_ceiling:
        factor *= SKIM_CEILING_FACTOR if stage in _SKIM_STAGES else CEILING_FACTOR
    if is_stairwell:
        factor *= STAIRWELL_FACTOR
    return factor
