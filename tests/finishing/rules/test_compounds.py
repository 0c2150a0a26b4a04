"""Compounds and systems: what no plan and no suggestion may break (common practice)."""

from dataclasses import replace

import pytest

from finishing.rules.compounds import (
    ALL_PURPOSE,
    CORNICE_ADHESIVE,
    DEFAULT_COMPOUNDS,
    DEFAULT_SYSTEMS,
    NEEDS_COMPOUND,
    SETTING_BASE_45,
    SKIM_FINISH,
    TOPPING,
    Fault,
    System,
    system_faults,
)
from finishing.rules.vocabulary import Compound, Hardening, Stage, Tape

SETTING_SYSTEM, DRYING_SYSTEM = DEFAULT_SYSTEMS


def with_stage(system: System, stage: Stage, compound: Compound) -> System:
    return replace(system, by_stage={**system.by_stage, stage: compound.name})


def codes(system: System) -> set[str]:
    return {fault.code for fault in system_faults(system, DEFAULT_COMPOUNDS)}


@pytest.mark.parametrize("system", DEFAULT_SYSTEMS, ids=lambda system: system.name)
def test_default_systems_may_be_used_and_cover_every_stage(system: System) -> None:
    assert system_faults(system, DEFAULT_COMPOUNDS) == []
    assert set(system.by_stage) == NEEDS_COMPOUND


class TestForbidden:
    def test_topping_does_not_bed_tape(self) -> None:
        assert codes(with_stage(SETTING_SYSTEM, Stage.TAPE, TOPPING)) >= {
            "may_not_do_stage",
            "may_not_bed_tape",
        }

    def test_mesh_asks_for_a_setting_tape_coat(self) -> None:
        assert codes(replace(SETTING_SYSTEM, tape=Tape.MESH)) == set()
        assert codes(replace(DRYING_SYSTEM, tape=Tape.MESH)) == {
            "may_not_bed_tape",
            "mesh_needs_setting",
        }

    def test_a_drying_compound_said_to_bed_mesh_still_may_not(self) -> None:
        claimed = replace(ALL_PURPOSE, tapes=frozenset({Tape.PAPER, Tape.MESH}))
        others = [c for c in DEFAULT_COMPOUNDS if c != ALL_PURPOSE]
        faults = system_faults(replace(DRYING_SYSTEM, tape=Tape.MESH), [claimed, *others])
        assert [fault.code for fault in faults] == ["mesh_needs_setting"]

    def test_no_hard_coat_over_a_soft_one(self) -> None:
        faults = system_faults(
            with_stage(DRYING_SYSTEM, Stage.SECOND, SETTING_BASE_45), DEFAULT_COMPOUNDS
        )
        assert faults == [
            Fault(
                "hard_over_soft",
                {
                    "stage": Stage.SECOND,
                    "compound": SETTING_BASE_45.name,
                    "under_stage": Stage.TAPE,
                    "under_compound": ALL_PURPOSE.name,
                },
            )
        ]

    def test_a_soft_coat_over_a_hard_one_is_what_the_setting_system_is(self) -> None:
        assert codes(with_stage(SETTING_SYSTEM, Stage.SECOND, TOPPING)) == set()

    def test_no_deep_fill_with_a_drying_compound(self) -> None:
        assert "deep_fill_dries" in codes(with_stage(DRYING_SYSTEM, Stage.PREFILL, ALL_PURPOSE))

    def test_a_drying_compound_said_to_fill_deep_still_may_not(self) -> None:
        claimed = replace(ALL_PURPOSE, deep_fill=True, stages=ALL_PURPOSE.stages | {Stage.PREFILL})
        others = [c for c in DEFAULT_COMPOUNDS if c != ALL_PURPOSE]
        system = with_stage(DRYING_SYSTEM, Stage.PREFILL, claimed)
        faults = system_faults(system, [claimed, *others])
        assert [fault.code for fault in faults] == ["deep_fill_dries"]

    def test_a_stage_without_a_compound_or_with_an_unknown_one(self) -> None:
        system = replace(
            DRYING_SYSTEM, by_stage={**DRYING_SYSTEM.by_stage, Stage.FINISH: "none such"}
        )
        assert system_faults(system, DEFAULT_COMPOUNDS) == [
            Fault("no_compound", {"stage": Stage.FINISH, "compound": "none such"})
        ]
        empty = System("empty", {})
        assert len(system_faults(empty, DEFAULT_COMPOUNDS)) == len(NEEDS_COMPOUND)

    def test_stages_not_worked_are_not_checked(self) -> None:
        only_tape = System("tape only", {Stage.TAPE: ALL_PURPOSE.name})
        assert system_faults(only_tape, DEFAULT_COMPOUNDS, stages=frozenset({Stage.TAPE})) == []

    def test_all_faults_come_at_once(self) -> None:
        system = System(
            "all wrong",
            {Stage.PREFILL: TOPPING.name, Stage.TAPE: TOPPING.name, Stage.SECOND: "none such"},
            Tape.MESH,
        )
        stages = frozenset({Stage.PREFILL, Stage.TAPE, Stage.SECOND})
        found = [f.code for f in system_faults(system, DEFAULT_COMPOUNDS, stages=stages)]
        assert found == [
            "no_compound",
            "may_not_do_stage",
            "deep_fill_dries",
            "may_not_do_stage",
            "may_not_bed_tape",
            "mesh_needs_setting",
        ]


class TestDefaults:
    def test_names_are_unique(self) -> None:
        assert len({compound.name for compound in DEFAULT_COMPOUNDS}) == len(DEFAULT_COMPOUNDS)

    @pytest.mark.parametrize("compound", DEFAULT_COMPOUNDS, ids=lambda c: c.name)
    def test_figures_are_within_what_is_published(self, compound: Compound) -> None:
        if compound.hardening is Hardening.SETS:
            # Setting powders: 20 to 90 minutes of working time; at least 1 hour before the next
            # coat (common practice, no published source). Mixed mass is powder and water.
            assert 20 <= compound.working_minutes <= 90
            assert compound.practice_hours >= 1.0
            water_kg_per_l = compound.density_kg_per_l * compound.water_fraction
            assert compound.powder_kg_per_l + water_kg_per_l == pytest.approx(
                compound.density_kg_per_l
            )
        else:
            # Ready-mixed: 30-35 % water by weight (read); 24 hours (common practice).
            assert 0.30 <= compound.water_fraction <= 0.35
            assert compound.practice_hours >= 24.0
            assert compound.working_minutes == 0
        # Packs of 3 to 20 kg (common practice); ASTM C840 section 4: 10 C, 48 h, 35 C (read).
        assert all(3 <= pack <= 20 for pack in compound.pack_kg)
        assert (compound.minimum_c, compound.maximum_c) == (10.0, 35.0)
        assert compound.conditioning_hours == 48.0

    def test_only_hardening_by_reaction_is_hard(self) -> None:
        hard = {c.name for c in DEFAULT_COMPOUNDS if c.hard}
        assert hard == {c.name for c in DEFAULT_COMPOUNDS if c.hardening is Hardening.SETS}
        assert CORNICE_ADHESIVE.stages == {Stage.CORNICE}
        assert not SKIM_FINISH.tapes


def test_a_hard_touch_up_does_not_go_over_a_soft_coat() -> None:
    base = DEFAULT_COMPOUNDS[0]
    hard = replace(base, name="Hard patch", stages=base.stages | {Stage.PRIMER_TOUCH_UP})
    system = DEFAULT_SYSTEMS[0]
    patched = replace(system, by_stage={**system.by_stage, Stage.PRIMER_TOUCH_UP: hard.name})
    faults = system_faults(patched, [*DEFAULT_COMPOUNDS, hard])
    assert {fault.values["under_stage"] for fault in faults} >= {Stage.FINISH, Stage.SKIM}
    assert {fault.code for fault in faults} == {"hard_over_soft"}
