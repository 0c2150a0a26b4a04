"""Which stages a surface goes through, and what each stage coats.

The coats come from the level's table (levels.py). A stage other than those coats can be switched
off; a coat cannot: to have fewer coats, choose a lower level.

Common practice, no published source: where no corner tool is used, the last coat of an internal
corner goes on one face at a time; lamp inspection and touch-ups belong to sanded surfaces only; a
surface that is tiled later is taped and left, with its fasteners covered once (level 2 at most;
the tile or membrane system decides what it really asks).
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from finishing.rules.levels import TAPED_KINDS, LevelCoats
from finishing.rules.vocabulary import CornerTool, JointKind, Stage

SWITCHABLE = frozenset(
    {
        Stage.PREFILL,
        Stage.SAND,
        Stage.SKIM_SAND,
        Stage.CORNICE,
        Stage.INSPECT,
        Stage.PRIMER_TOUCH_UP,
        Stage.TRADES_TOUCH_UP,
    }
)
"""Stages that ``enabled`` turns on and off."""

_JOINT_COATS = (Stage.TAPE, Stage.SECOND, Stage.FINISH)
_AFTERWARDS = (Stage.INSPECT, Stage.PRIMER_TOUCH_UP, Stage.TRADES_TOUCH_UP)
_KIND_ORDER = (
    JointKind.TAPERED,
    JointKind.BUTT,
    JointKind.FASTENERS,
    JointKind.INTERNAL,
    JointKind.EXTERNAL,
    JointKind.SURFACE,
)

type Shares = dict[JointKind, float]


@dataclass(frozen=True, slots=True)
class StageWork:
    """One stage of one surface.

    kinds: the share of each joint kind's quantity that this stage treats (0.5: one face of each
    internal corner).
    cornice_m: metres of cornice fitted. for_tiles: done only as far as tiling asks.
    """

    stage: Stage
    kinds: Mapping[JointKind, float]
    cornice_m: float = 0.0
    for_tiles: bool = False


def stage_plan(
    level: LevelCoats,
    *,
    corner: CornerTool,
    has: Mapping[JointKind, float],
    enabled: frozenset[Stage],
    cornice_m: float = 0.0,
    tiled_later: bool = False,
    deep_gap_share: float = 0.0,
) -> tuple[StageWork, ...]:
    """Return the stages of a surface in order of doing.

    has: quantity of each joint kind (metres, or a count of fasteners); kinds with none are left
    out. enabled: the switched-on ones of ``SWITCHABLE``; the level's coats need no switch.
    deep_gap_share: share (0-1) of the flat joints with gaps that are filled before taping.
    """
    asked = _as_far_as_tiles_ask(level) if tiled_later else level
    coats = _joint_coats(asked, corner, has)
    works = [
        *_prefill(asked, has, deep_gap_share),
        *coats,
        *_sanding(asked, coats),
        *_skim(asked),
        *([StageWork(Stage.CORNICE, {}, cornice_m=cornice_m)] if cornice_m > 0 else []),
        *_afterwards(asked, coats),
    ]
    kept = (work for work in works if work.stage not in SWITCHABLE or work.stage in enabled)
    return tuple(replace(work, for_tiles=tiled_later) for work in kept)


def order_within_stage(*, is_ceiling: bool, kind: JointKind) -> tuple[int, int]:
    """Return a sorting key: ceilings before walls, then flats and butts before corners."""
    return (0 if is_ceiling else 1, _KIND_ORDER.index(kind))


def _as_far_as_tiles_ask(level: LevelCoats) -> LevelCoats:
    once = {kind: 0 if kind in TAPED_KINDS else min(n, 1) for kind, n in level.further.items()}
    return LevelCoats(once, taped=level.taped, wiped=level.wiped)


def _joint_coats(
    level: LevelCoats, corner: CornerTool, has: Mapping[JointKind, float]
) -> list[StageWork]:
    present = [kind for kind in _KIND_ORDER if has.get(kind, 0) > 0]
    by_stage: dict[Stage, Shares] = {
        stage: {kind: 1.0 for kind in present if level.coats(kind) >= number}
        for number, stage in enumerate(_JOINT_COATS, start=1)
    }
    if level.scrape:
        by_stage[Stage.FINISH][JointKind.SURFACE] = 1.0
    last_of_corner = level.coats(JointKind.INTERNAL)
    if corner is CornerTool.FLAT_KNIFE and JointKind.INTERNAL in present and last_of_corner > 1:
        _split_faces(by_stage, _JOINT_COATS[last_of_corner - 1])
    return [StageWork(stage, kinds) for stage, kinds in by_stage.items() if kinds]


def _split_faces(by_stage: dict[Stage, Shares], first: Stage) -> None:
    """Leave one face of the internal corners in ``first`` and move the other to a later stage."""
    later = _JOINT_COATS[_JOINT_COATS.index(first) + 1 :]
    other = next((stage for stage in later if by_stage[stage]), Stage.OTHER_FACE)
    by_stage[first][JointKind.INTERNAL] = 0.5
    by_stage.setdefault(other, {})[JointKind.INTERNAL] = 0.5


def _prefill(
    level: LevelCoats, has: Mapping[JointKind, float], deep_gap_share: float
) -> Iterator[StageWork]:
    shares: Shares = {}
    if level.taped and deep_gap_share > 0:
        flat = (JointKind.TAPERED, JointKind.BUTT)
        shares = {kind: deep_gap_share for kind in flat if has.get(kind, 0) > 0}
    if level.coats(JointKind.EXTERNAL) and has.get(JointKind.EXTERNAL, 0) > 0:
        shares[JointKind.EXTERNAL] = 1.0
    if shares:
        yield StageWork(Stage.PREFILL, shares)


def _sanding(level: LevelCoats, coats: list[StageWork]) -> Iterator[StageWork]:
    if level.sanded and coats:
        coated = {kind for work in coats for kind in work.kinds}
        yield StageWork(Stage.SAND, {kind: 1.0 for kind in _KIND_ORDER if kind in coated})


def _skim(level: LevelCoats) -> Iterator[StageWork]:
    if level.skim:
        whole = {JointKind.SURFACE: 1.0}
        yield StageWork(Stage.SKIM, whole)
        yield StageWork(Stage.SKIM_SAND, whole)


def _afterwards(level: LevelCoats, coats: list[StageWork]) -> Iterator[StageWork]:
    if level.sanded and (coats or level.skim):
        for stage in _AFTERWARDS:
            yield StageWork(stage, {JointKind.SURFACE: 1.0})
