"""Labour rates: person-minutes for a stage's work on one joint kind."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from math import isfinite
from types import MappingProxyType
from typing import Literal

from finishing.rules.vocabulary import JointKind, Stage

type Per = Literal["m", "m2", "each"]


@dataclass(frozen=True, slots=True)
class Rate:
    """Person-minutes for a stage's work on one joint kind, on a wall of ordinary height.

    per: metre of joint, m2 of surface, or fastener. The cornice's rate stands under the internal
    corner, which it covers. source, dated: where the figure comes from and since when it holds.
    """

    stage: Stage
    kind: JointKind
    minutes: float
    per: Per
    source: str
    dated: date


class RateError(ValueError):
    """Rates that cannot be worked with; ``faults`` names each one and its stage."""

    def __init__(self, faults: list[str]) -> None:
        self.faults = faults
        super().__init__("; ".join(faults))


def rate_table(rates: Iterable[Rate]) -> Mapping[tuple[Stage, JointKind], Rate]:
    """Return rates by stage and kind; raise :class:`RateError` for all that are not above zero or
    stand there twice."""
    listed = list(rates)
    faults = [*_zero_rates(listed), *_double_rates(listed)]
    if faults:
        raise RateError(faults)
    return MappingProxyType({(rate.stage, rate.kind): rate for rate in listed})


def _zero_rates(rates: list[Rate]) -> Iterator[str]:
    for rate in rates:
        if not (isfinite(rate.minutes) and rate.minutes > 0):
            yield f"rate for {rate.stage}, {rate.kind}: {rate.minutes:g} minutes is not above 0"


def _double_rates(rates: list[Rate]) -> Iterator[str]:
    for (stage, kind), times in Counter((rate.stage, rate.kind) for rate in rates).items():
        if times > 1:
            yield f"rate for {stage}, {kind}: stands there {times} times"
