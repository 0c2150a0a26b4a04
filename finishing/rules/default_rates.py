"""The rates a new company starts from.

Rates are weak everywhere in this trade: each is a dated setting of the company. Derivation:

- finishing a wall to level 4 takes 0.097 h per m2 of board, a skim 0.043 h per m2 more (Building
  Construction Cost Data, from memory);
- a m2 of board has 1.25 m of tape (Peterson and Dagostino, Estimating in Building Construction,
  p. 203); with default averages it has 7 to 8 screws that no finished joint covers;
- assumptions (common practice, no published source): tape, second, finish, sanding take 35, 25,
  20, 20 % of level 4; of each, 85 % goes on joints and 15 % on fasteners; a metre of bead takes
  as long as a metre of taped joint; 80 % of a skim is the coat and 20 % its sanding.

An internal corner gets one face in the second coat and the other in the finish (both in the
second with a corner tool), so over these two stages half its metres count in each.
"""

from collections.abc import Iterator
from datetime import date

from finishing.rules.rates import Per, Rate
from finishing.rules.room_shapes import RoughAverages
from finishing.rules.takeoff import rough_takeoff
from finishing.rules.vocabulary import JointKind, Stage

DATED = date(2026, 1, 1)

_LEVEL_4_MIN_PER_M2 = 0.097 * 60
_SKIM_MIN_PER_M2 = 0.043 * 60
_SPLIT = {Stage.TAPE: 0.35, Stage.SECOND: 0.25, Stage.FINISH: 0.20, Stage.SAND: 0.20}
_ON_JOINTS = 0.85
_SKIM_COAT_SHARE = 0.80
_COST_BOOK = "Building Construction Cost Data (from memory), split by assumption"
_ASSUMED = "common practice, no published source"
_LINEAR = (JointKind.TAPERED, JointKind.BUTT, JointKind.INTERNAL, JointKind.EXTERNAL)


def _rate(stage: Stage, kind: JointKind, minutes: float, per: Per, source: str) -> Rate:
    return Rate(stage, kind, round(minutes, 4), per, source, DATED)


def _level_4_rates() -> Iterator[Rate]:
    averages = RoughAverages(bead_m_per_m2=0.0)
    sample = rough_takeoff(1000.0, averages)
    screws_per_m2 = sample.fasteners / sample.area_m2
    internal_m_per_m2 = averages.tape_m_per_m2 * averages.shares[JointKind.INTERNAL]
    for stage, share in _SPLIT.items():
        minutes_per_m2 = _LEVEL_4_MIN_PER_M2 * share
        halved = stage in (Stage.SECOND, Stage.FINISH)
        coated_m_per_m2 = averages.tape_m_per_m2 - (internal_m_per_m2 / 2 if halved else 0.0)
        per_metre = minutes_per_m2 * _ON_JOINTS / coated_m_per_m2
        for kind in _LINEAR:
            yield _rate(stage, kind, per_metre, "m", _COST_BOOK)
        per_screw = minutes_per_m2 * (1 - _ON_JOINTS) / screws_per_m2
        yield _rate(stage, JointKind.FASTENERS, per_screw, "each", _COST_BOOK)
        if stage is Stage.SECOND:
            yield _rate(Stage.OTHER_FACE, JointKind.INTERNAL, per_metre, "m", _COST_BOOK)


def _surface_rates() -> Iterator[Rate]:
    coat = _SKIM_MIN_PER_M2 * _SKIM_COAT_SHARE
    sanding = _SKIM_MIN_PER_M2 * (1 - _SKIM_COAT_SHARE)
    yield _rate(Stage.SKIM, JointKind.SURFACE, coat, "m2", _COST_BOOK)
    yield _rate(Stage.SKIM_SAND, JointKind.SURFACE, sanding, "m2", _COST_BOOK)
    assumed = (
        (Stage.FINISH, 1.2),
        (Stage.SAND, 0.3),
        (Stage.INSPECT, 0.2),
        (Stage.PRIMER_TOUCH_UP, 0.4),
        (Stage.TRADES_TOUCH_UP, 0.4),
    )
    for stage, minutes in assumed:
        yield _rate(stage, JointKind.SURFACE, minutes, "m2", _ASSUMED)


def _assumed_rates() -> Iterator[Rate]:
    yield _rate(Stage.PREFILL, JointKind.TAPERED, 1.0, "m", _ASSUMED)
    yield _rate(Stage.PREFILL, JointKind.BUTT, 1.0, "m", _ASSUMED)
    yield _rate(Stage.PREFILL, JointKind.EXTERNAL, 3.0, "m", _ASSUMED)
    yield _rate(Stage.CORNICE, JointKind.INTERNAL, 6.0, "m", _ASSUMED)


DEFAULT_RATES: tuple[Rate, ...] = (*_level_4_rates(), *_surface_rates(), *_assumed_rates())
