"""Litres and kilograms, against published consumption."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishing.rules.coats import StageWork, stage_plan
from finishing.rules.compounds import ALL_PURPOSE, SETTING_BASE_90
from finishing.rules.levels import coats_for
from finishing.rules.materials import (
    crown_litres_per_m,
    feathered_litres_per_m,
    litres_for,
    recess_litres_per_m,
    stage_material,
)
from finishing.rules.takeoff import RoughAverages, rough_takeoff
from finishing.rules.vocabulary import CornerTool, Family, JointKind, Stage


def litres_of_level(level: str, has: dict[JointKind, float], area_m2: float = 0.0) -> float:
    works = stage_plan(
        coats_for(Family.GA214, level),
        corner=CornerTool.FLAT_KNIFE,
        has=has,
        enabled=frozenset(),
    )
    return sum(litres_for(work, has, area_m2=area_m2) for work in works)


class TestPublishedConsumption:
    def test_a_metre_of_tapered_joint(self) -> None:
        # 0.15-0.35 L wet, all coats: computed from the edges of ASTM C1396 (memory).
        assert 0.15 <= litres_of_level("4", {JointKind.TAPERED: 1.0}) <= 0.35

    def test_a_metre_of_butt_joint(self) -> None:
        # 600 mm wide with a 2 mm crown: 0.8 L, all coats (computed, 2/3 x width x height).
        assert crown_litres_per_m(600.0, 2.0) == pytest.approx(0.8)
        assert litres_of_level("4", {JointKind.BUTT: 1.0}) == pytest.approx(0.8, rel=0.05)

    def test_a_m2_of_board_at_level_4(self) -> None:
        # Handbook (memory): 0.38-0.45 L per m2 for three coats, with 1.25 m of tape per m2
        # (Peterson and Dagostino, p. 203).
        board = rough_takeoff(100.0, RoughAverages(bead_m_per_m2=0.0))
        litres = litres_of_level("4", board.quantities, area_m2=100.0)
        assert 0.38 <= litres / 100.0 <= 0.45

    def test_water_of_a_taped_joint(self) -> None:
        # 59.5 g of water leaves each metre of taped joint (computed from the basis of the
        # handbook's drying table; memory).
        tape = StageWork(Stage.TAPE, {JointKind.TAPERED: 1.0})
        litres = litres_for(tape, {JointKind.TAPERED: 1.0}, area_m2=0.0)
        grams = litres * ALL_PURPOSE.density_kg_per_l * ALL_PURPOSE.water_fraction * 1000
        assert grams == pytest.approx(59.5, rel=0.10)

    def test_a_skim_is_at_most_a_millimetre(self) -> None:
        # AS/NZS 2589:2017 level 5 (read): under 1 mm when finished; 0.3-1 mm computed with.
        skim = StageWork(Stage.SKIM, {JointKind.SURFACE: 1.0})
        assert 0.3 <= litres_for(skim, {}, area_m2=1.0) <= 1.0


class TestGeometry:
    def test_a_recess_by_its_pair_of_edges(self) -> None:
        # EN 520 (memory): edges of 40-80 mm, 0.6-2.5 mm deep.
        assert recess_litres_per_m(2 * 50.0, 1.5) == pytest.approx(0.15)

    def test_a_feathered_face_is_a_triangle(self) -> None:
        assert feathered_litres_per_m(100.0, 1.0) == pytest.approx(0.05)

    @given(st.floats(1.0, 1000.0), st.floats(0.1, 5.0))
    def test_a_crown_lies_between_a_triangle_and_a_slab(self, width: float, height: float) -> None:
        slab_litres_per_m = width * height / 1000
        assert slab_litres_per_m / 2 < crown_litres_per_m(width, height) < slab_litres_per_m


def test_higher_levels_take_more() -> None:
    has = dict.fromkeys(JointKind, 10.0)
    litres = [litres_of_level(level, has, area_m2=10.0) for level in "012345"]
    assert litres == sorted(litres)
    assert litres[0] == 0.0


def test_both_faces_of_a_corner_take_the_same_in_either_way() -> None:
    corner = {JointKind.INTERNAL: 10.0}
    split = litres_of_level("4", corner)
    whole = [
        litres_for(StageWork(stage, {JointKind.INTERNAL: 1.0}), corner, area_m2=0.0)
        for stage in (Stage.TAPE, Stage.SECOND)
    ]
    assert split == pytest.approx(sum(whole))


class TestWhatToBring:
    TAPE = StageWork(Stage.TAPE, {JointKind.TAPERED: 1.0, JointKind.FASTENERS: 1.0})
    JOINTS = {JointKind.TAPERED: 100.0, JointKind.FASTENERS: 200.0}

    def test_powder_and_water_make_the_mix(self) -> None:
        mix = stage_material(self.TAPE, self.JOINTS, area_m2=80.0, compound=SETTING_BASE_90)
        assert mix.powder_kg + mix.water_l == pytest.approx(mix.kg)
        assert mix.kg == pytest.approx(mix.litres * SETTING_BASE_90.density_kg_per_l)

    def test_ready_mixed_needs_neither_powder_nor_water(self) -> None:
        ready = stage_material(self.TAPE, self.JOINTS, area_m2=80.0, compound=ALL_PURPOSE)
        assert (ready.powder_kg, ready.water_l) == (0.0, 0.0)
        assert ready.kg > 0

    def test_waste_comes_on_top_of_compound_and_tape(self) -> None:
        net = litres_for(self.TAPE, self.JOINTS, area_m2=80.0)
        bring = stage_material(
            self.TAPE, self.JOINTS, area_m2=80.0, compound=ALL_PURPOSE, waste_share=0.2
        )
        assert bring.litres == pytest.approx(1.2 * net)
        assert bring.tape_m == pytest.approx(120.0)

    def test_only_the_tape_coat_takes_tape(self) -> None:
        second = StageWork(Stage.SECOND, {JointKind.TAPERED: 1.0})
        bring = stage_material(second, self.JOINTS, area_m2=80.0, compound=ALL_PURPOSE)
        assert bring.tape_m == 0.0

    def test_sanding_takes_nothing(self) -> None:
        sand = StageWork(Stage.SAND, {JointKind.TAPERED: 1.0})
        bring = stage_material(sand, self.JOINTS, area_m2=80.0, compound=None)
        assert bring.litres == bring.kg == bring.tape_m == 0.0

    def test_cornice_takes_adhesive_by_its_metres(self) -> None:
        one, two = (
            litres_for(StageWork(Stage.CORNICE, {}, cornice_m=m), {}, area_m2=0.0)
            for m in (10.0, 20.0)
        )
        assert two == pytest.approx(2 * one) != 0.0
