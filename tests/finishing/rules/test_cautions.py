"""Cautions, each against the publication it comes from (see the module's sources)."""

import pytest

from finishing.rules.cautions import Caution, cautions_for
from finishing.rules.vocabulary import COATS, DUSTY, Hardening, Stage

NEVER = dict.fromkeys(("wet_area", "old_joints", "fire_rated", "high", "heated_by_flame"), False)


def cautions(stage: Stage, hardening: Hardening | None = None, *circumstances: str) -> set[Caution]:
    applies = {**NEVER, **dict.fromkeys(circumstances, True)}
    return set(cautions_for(stage, hardening=hardening, **applies))


@pytest.mark.parametrize("stage", sorted(DUSTY))
def test_sanding_raises_dust_and_silica(stage: Stage) -> None:
    # NIOSH 99-113; 29 CFR 1926.1153.
    assert cautions(stage) == {Caution.DUST, Caution.SILICA}


@pytest.mark.parametrize("stage", sorted(COATS))
def test_a_drying_coat_of_its_own_has_no_caution(stage: Stage) -> None:
    assert cautions(stage, Hardening.DRIES) == set()


def test_old_joints_are_tested_before_any_sanding() -> None:
    # 16 CFR 1304: joints older than about 1980.
    assert Caution.ASBESTOS_OLD_JOINTS in cautions(Stage.SAND, None, "old_joints")
    assert Caution.ASBESTOS_OLD_JOINTS in cautions(Stage.TRADES_TOUCH_UP, None, "old_joints")
    assert Caution.ASBESTOS_OLD_JOINTS not in cautions(Stage.SECOND, None, "old_joints")


def test_setting_powders_are_alkaline() -> None:
    assert cautions(Stage.TAPE, Hardening.SETS) == {Caution.ALKALINE_POWDER}
    assert Caution.ALKALINE_POWDER not in cautions(Stage.SAND, Hardening.SETS)


@pytest.mark.parametrize("stage", list(Stage))
def test_flames_and_heights_concern_every_stage(stage: Stage) -> None:
    # Heaters: 29 CFR 1926.154, fresh air and carbon monoxide.
    assert cautions(stage, None, "heated_by_flame", "high") >= {
        Caution.HEATER_CO,
        Caution.LADDERS,
    }


def test_wet_areas_and_fire_rated_joints_concern_the_coats() -> None:
    assert cautions(Stage.TAPE, None, "wet_area", "fire_rated") == {
        Caution.WET_AREA,
        Caution.FIRE_RATED,
    }
    assert cautions(Stage.INSPECT, None, "wet_area", "fire_rated") == set()


def test_order_is_that_of_the_codes() -> None:
    shown = cautions_for(
        Stage.SAND,
        hardening=None,
        wet_area=True,
        old_joints=True,
        fire_rated=True,
        high=True,
        heated_by_flame=True,
    )
    order = list(Caution)
    assert [order.index(caution) for caution in shown] == sorted(map(order.index, shown))
