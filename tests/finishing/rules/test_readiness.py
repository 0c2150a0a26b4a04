"""Which readiness lines a stage needs. Common practice, no published source."""

import pytest

from finishing.rules.readiness import ODD_JOB, needs
from finishing.rules.vocabulary import Readiness, Stage

SITE = {
    Readiness.BOARDED,
    Readiness.INSPECTED,
    Readiness.CLOSED_UP,
    Readiness.POWER,
    Readiness.WATER,
    Readiness.HEAT,
    Readiness.LIGHT,
    Readiness.CLEAR_FLOORS,
    Readiness.WAY_IN,
}


@pytest.mark.parametrize("stage", [s for s in Stage if not s.endswith("touch_up")])
def test_a_stage_needs_the_site_and_nothing_of_the_painter(stage: Stage) -> None:
    assert needs(stage) == SITE


def test_touch_ups_also_need_those_they_come_after() -> None:
    assert needs(Stage.PRIMER_TOUCH_UP) == SITE | {Readiness.PRIMED}
    assert needs(Stage.TRADES_TOUCH_UP) == SITE | {Readiness.TRADES_DONE}


def test_an_odd_job_needs_a_way_in() -> None:
    assert needs(ODD_JOB) == {Readiness.WAY_IN}


def test_an_unknown_stage_is_named() -> None:
    with pytest.raises(ValueError, match="varnish"):
        needs("varnish")
