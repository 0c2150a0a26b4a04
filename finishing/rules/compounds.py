"""Jointing compounds, systems made of them, and which systems no plan may use.

The defaults are plain and unbranded; a company edits them after the labels of what it buys.
Weights, water and times are assumptions (common practice, no published source), except: ready-
mixed compound is 30-35 % water by weight (published).
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from itertools import combinations
from types import MappingProxyType

from finishing.rules.practice import SETTING_WAIT_HOURS
from finishing.rules.vocabulary import COATS, Compound, Hardening, Stage, Tape

NEEDS_COMPOUND = COATS | {Stage.CORNICE, Stage.PRIMER_TOUCH_UP, Stage.TRADES_TOUCH_UP}

_TOUCH_UPS = frozenset({Stage.PRIMER_TOUCH_UP, Stage.TRADES_TOUCH_UP})
_LAYERS = tuple(stage for stage in Stage if stage in COATS | _TOUCH_UPS)
"""Stages that go over one another, the lowest first."""
_LATER_COATS = frozenset({Stage.SECOND, Stage.FINISH, Stage.OTHER_FACE})


@dataclass(frozen=True, slots=True)
class System:
    """A jointing system: the name of the compound for each stage, and the tape."""

    name: str
    by_stage: Mapping[Stage, str]
    tape: Tape = Tape.PAPER


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong with a system: a code and the values a sentence about it needs."""

    code: str
    values: Mapping[str, str] = field(default_factory=dict)


def _setting_base(*, working_minutes: int, set_hours: float) -> Compound:
    """A hard base: 20 kg of powder and 12 L of water make 20 L of mixed compound."""
    return Compound(
        name=f"Setting base, {working_minutes} min working",
        hardening=Hardening.SETS,
        stages=frozenset({Stage.PREFILL, Stage.TAPE, Stage.SECOND}),
        tapes=frozenset({Tape.PAPER, Tape.MESH}),
        hard=True,
        deep_fill=True,
        working_minutes=working_minutes,
        set_hours=set_hours,
        practice_hours=SETTING_WAIT_HOURS,
        density_kg_per_l=1.6,
        water_fraction=0.375,
        powder_kg_per_l=1.0,
        pack_kg=(5.0, 10.0, 20.0),
    )


SETTING_BASE_45 = _setting_base(working_minutes=45, set_hours=1.0)
SETTING_BASE_90 = _setting_base(working_minutes=90, set_hours=2.0)
ALL_PURPOSE = Compound(
    name="All-purpose, drying",
    hardening=Hardening.DRIES,
    stages=frozenset({Stage.TAPE, Stage.SKIM}) | _LATER_COATS | _TOUCH_UPS,
    tapes=frozenset({Tape.PAPER}),
    pack_kg=(5.0, 10.0, 20.0),
)
TOPPING = Compound(
    name="Topping, drying",
    hardening=Hardening.DRIES,
    stages=frozenset({Stage.SKIM}) | _LATER_COATS | _TOUCH_UPS,
    density_kg_per_l=1.6,
    pack_kg=(10.0, 20.0),
)
SKIM_FINISH = Compound(
    name="Skim finish, drying",
    hardening=Hardening.DRIES,
    stages=frozenset({Stage.FINISH, Stage.OTHER_FACE, Stage.SKIM}) | _TOUCH_UPS,
    density_kg_per_l=1.6,
    water_fraction=0.35,
    pack_kg=(3.0, 20.0),
)
CORNICE_ADHESIVE = Compound(
    name="Cornice adhesive, setting",
    hardening=Hardening.SETS,
    stages=frozenset({Stage.CORNICE}),
    hard=True,
    working_minutes=45,
    set_hours=1.0,
    practice_hours=SETTING_WAIT_HOURS,
    density_kg_per_l=1.6,
    water_fraction=0.375,
    powder_kg_per_l=1.0,
    pack_kg=(5.0, 10.0, 20.0),
)
DEFAULT_COMPOUNDS: tuple[Compound, ...] = (
    SETTING_BASE_45,
    SETTING_BASE_90,
    ALL_PURPOSE,
    TOPPING,
    SKIM_FINISH,
    CORNICE_ADHESIVE,
)


def _by_stage(
    *, base: Compound, finish: Compound, skim: Compound, touch_up: Compound
) -> Mapping[Stage, str]:
    chosen = {
        Stage.PREFILL: SETTING_BASE_45,
        Stage.TAPE: base,
        Stage.SECOND: base,
        Stage.FINISH: finish,
        Stage.OTHER_FACE: finish,
        Stage.SKIM: skim,
        Stage.CORNICE: CORNICE_ADHESIVE,
        Stage.PRIMER_TOUCH_UP: touch_up,
        Stage.TRADES_TOUCH_UP: touch_up,
    }
    return MappingProxyType({stage: compound.name for stage, compound in chosen.items()})


DEFAULT_SYSTEMS: tuple[System, ...] = (
    System(
        "Setting base with drying topping",
        _by_stage(base=SETTING_BASE_90, finish=TOPPING, skim=SKIM_FINISH, touch_up=SKIM_FINISH),
    ),
    System(
        "All-purpose drying",
        _by_stage(base=ALL_PURPOSE, finish=ALL_PURPOSE, skim=ALL_PURPOSE, touch_up=ALL_PURPOSE),
    ),
)


def system_faults(
    system: System,
    compounds: Iterable[Compound],
    *,
    stages: frozenset[Stage] = NEEDS_COMPOUND,
) -> list[Fault]:
    """Return everything a system may not do, in the order of the stages; empty if it may be used.

    stages: those the company works; a stage outside them is not checked. Codes:
    ``no_compound`` (stage, and the name where one is given that is not among ``compounds``),
    ``may_not_do_stage`` (stage, compound), ``deep_fill_dries`` (compound; also for a setting one
    not made for deep gaps), ``may_not_bed_tape`` and ``mesh_needs_setting`` (compound, tape),
    ``hard_over_soft`` (stage, compound, under_stage, under_compound).
    """
    by_name = {compound.name: compound for compound in compounds}
    wanted = [stage for stage in Stage if stage in stages & NEEDS_COMPOUND]
    chosen = {
        stage: by_name[system.by_stage[stage]]
        for stage in wanted
        if system.by_stage.get(stage) in by_name
    }
    faults = [_no_compound(system, stage) for stage in wanted if stage not in chosen]
    for stage, compound in chosen.items():
        faults.extend(_stage_faults(stage, compound))
    if Stage.TAPE in chosen:
        faults.extend(_tape_faults(chosen[Stage.TAPE], system.tape))
    faults.extend(_order_faults(chosen))
    return faults


def _no_compound(system: System, stage: Stage) -> Fault:
    return Fault("no_compound", {"stage": stage, "compound": system.by_stage.get(stage, "")})


def _stage_faults(stage: Stage, compound: Compound) -> Iterator[Fault]:
    if stage not in compound.stages:
        yield Fault("may_not_do_stage", {"stage": stage, "compound": compound.name})
    fills_deep = compound.deep_fill and compound.hardening is Hardening.SETS
    if stage is Stage.PREFILL and not fills_deep:
        yield Fault("deep_fill_dries", {"stage": stage, "compound": compound.name})


def _tape_faults(compound: Compound, tape: Tape) -> Iterator[Fault]:
    values = {"stage": Stage.TAPE, "compound": compound.name, "tape": tape}
    if tape not in compound.tapes:
        yield Fault("may_not_bed_tape", values)
    if tape is Tape.MESH and compound.hardening is not Hardening.SETS:
        yield Fault("mesh_needs_setting", values)


def _order_faults(chosen: Mapping[Stage, Compound]) -> Iterator[Fault]:
    coats = [stage for stage in _LAYERS if stage in chosen]
    for under, over in combinations(coats, 2):
        if chosen[over].hard and not chosen[under].hard:
            values = {
                "stage": over,
                "compound": chosen[over].name,
                "under_stage": under,
                "under_compound": chosen[under].name,
            }
            yield Fault("hard_over_soft", values)
