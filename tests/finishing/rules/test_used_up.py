"""Tape, beads and sandpaper of a room, worked by hand."""

from math import pi

import pytest

from finishing.rules.supplies import SupplyKind
from finishing.rules.used_up import Worked, sanded_m2, units_used
from finishing.rules.vocabulary import JointKind, Stage, Tape

ROOM = [
    Worked(JointKind.TAPERED, 20.0),
    Worked(JointKind.BUTT, 4.0),
    Worked(JointKind.INTERNAL, 12.0),
    Worked(JointKind.EXTERNAL, 5.0),
    Worked(JointKind.FASTENERS, 300),
]


def test_tape_goes_on_flats_and_inner_corners_only() -> None:
    found = units_used(Stage.TAPE, ROOM, tape=Tape.PAPER, beads_now=False)
    assert found == {SupplyKind.PAPER_TAPE: 36.0}
    mesh = units_used(Stage.TAPE, ROOM, tape=Tape.MESH, beads_now=False)
    assert mesh == {SupplyKind.MESH_TAPE: 36.0}


def test_beads_are_fixed_once_of_what_they_are_of() -> None:
    work = [Worked(JointKind.EXTERNAL, 5.0), Worked(JointKind.EXTERNAL, 3.0, plastic_bead=True)]
    assert units_used(Stage.PREFILL, work, tape=Tape.PAPER, beads_now=True) == {
        SupplyKind.METAL_BEAD: 5.0,
        SupplyKind.PLASTIC_BEAD: 3.0,
    }
    assert units_used(Stage.SECOND, work, tape=Tape.PAPER, beads_now=False) == {}


def test_sanding_covers_joints_as_wide_as_they_are_finished() -> None:
    """20 m x 0.25 + 4 m x 0.55 + 12 m x 0.20 + 5 m x 0.60 = 12.6 m2, and 300 spots of 150 mm:
    300 x pi/4 x 0.15^2 = 5.30 m2."""
    found = units_used(Stage.SAND, ROOM, tape=Tape.PAPER, beads_now=False)
    by_hand = 5.0 + 2.2 + 2.4 + 3.0 + 300 * pi / 4 * 0.15**2
    assert found[SupplyKind.SANDPAPER] == pytest.approx(by_hand, rel=0.01)
    assert sanded_m2(JointKind.SURFACE, 40.0) == 40.0
