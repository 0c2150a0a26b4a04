"""Water in coats, and what keeps up with it."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishing.rules.coats import stage_plan
from finishing.rules.compounds import ALL_PURPOSE, DEFAULT_COMPOUNDS, DEFAULT_SYSTEMS, System
from finishing.rules.drying import drying_hours
from finishing.rules.house_climate import climate_of
from finishing.rules.house_inputs import Coats, Dryers, Houses, Running, Site, State, Weather
from finishing.rules.levels import coats_for
from finishing.rules.takeoff import rough_takeoff
from finishing.rules.vocabulary import CornerTool, Family, Stage
from finishing.rules.water_load import (
    air_change_needed,
    carried_out_kg_per_h,
    dryers_needed,
    given_off_kg_per_h,
    stage_water_kg,
)

AROUND = {"temperature_c": 20.0, "humidity": 0.6, "outdoor_c": 10.0, "outdoor_humidity": 0.8}


def water_by_stage(area_m2: float, level: str, system: System) -> dict[Stage, float]:
    takeoff = rough_takeoff(area_m2)
    compounds = {compound.name: compound for compound in DEFAULT_COMPOUNDS}
    plan = stage_plan(
        coats_for(Family.GA214, level),
        corner=CornerTool.CORNER_TOOL,
        has=takeoff.quantities,
        enabled=frozenset(),
    )
    return {
        work.stage: stage_water_kg(
            work,
            takeoff.quantities,
            area_m2=area_m2,
            compound=compounds.get(system.by_stage.get(work.stage, "")),
        )
        for work in plan
    }


class TestLoad:
    @pytest.mark.parametrize("area_m2", [700.0, 900.0])
    @pytest.mark.parametrize("system", DEFAULT_SYSTEMS, ids=lambda system: system.name)
    def test_three_coats_of_a_house_hold_130_to_230_kg(
        self, area_m2: float, system: System
    ) -> None:
        # Computed from the coats' volumes; no published source.
        water = water_by_stage(area_m2, "4", system)
        assert list(water) == [Stage.TAPE, Stage.SECOND, Stage.FINISH]
        assert 130.0 <= sum(water.values()) <= 230.0

    def test_a_skim_of_a_millimetre_holds_as_much_again_and_more(self) -> None:
        water = water_by_stage(700.0, "5", DEFAULT_SYSTEMS[1])
        assert water[Stage.SKIM] == pytest.approx(380.0, rel=0.01)

    def test_stages_without_compound_hold_none(self) -> None:
        takeoff = rough_takeoff(100.0)
        works = stage_plan(
            coats_for(Family.GA214, "4"),
            corner=CornerTool.CORNER_TOOL,
            has=takeoff.quantities,
            enabled=frozenset({Stage.SAND}),
        )
        sanding = next(work for work in works if work.stage is Stage.SAND)
        for compound in (None, ALL_PURPOSE):
            assert (
                stage_water_kg(sanding, takeoff.quantities, area_m2=100.0, compound=compound) == 0.0
            )


class TestKeepingUp:
    def test_a_coat_gives_off_its_water_in_the_laws_time(self) -> None:
        load = float(given_off_kg_per_h(47.0, 1.0, temperature_c=20.0, humidity=0.5))
        assert load == pytest.approx(47.0 / float(drying_hours(20.0, 0.5)))
        assert float(given_off_kg_per_h(47.0, 1.0, temperature_c=20.0, humidity=1.0)) == 0.0

    def test_air_change_worked_by_hand(self) -> None:
        # Humidity ratios: 8.73 g/kg at 20 C 60 %, 6.09 g/kg at 10 C 80 % (ASHRAE chart). A change
        # of 500 m3 is 600 kg of dry air.
        carried = float(carried_out_kg_per_h(500.0, 2.0, **AROUND))
        assert carried == pytest.approx(1200.0 * (8.73 - 6.09) / 1000.0, rel=0.005)
        needed = float(air_change_needed(carried, 500.0, **AROUND))
        assert needed == pytest.approx(2.0)

    def test_no_air_change_helps_where_outdoors_holds_more(self) -> None:
        damp = {**AROUND, "outdoor_c": 25.0}
        assert carried_out_kg_per_h(500.0, 1.0, **damp) < 0.0
        assert air_change_needed([2.0, 0.0], 500.0, **damp).tolist() == [np.inf, 0.0]  # type: ignore[arg-type]

    def test_dryers_are_whole_and_none_keep_up_where_they_take_nothing(self) -> None:
        loads, removes = np.array([0.0, 1.0, 1.1, 1.0]), np.array([0.5, 0.5, 0.5, 0.0])
        assert dryers_needed(loads, removes).tolist() == [0.0, 2.0, 3.0, np.inf]
        assert dryers_needed(-1.0, 0.0).tolist() == 0.0

    @given(st.floats(5.0, 200.0), st.floats(0.4, 0.7))
    def test_with_the_air_change_asked_for_a_house_stays_as_dry_as_asked(
        self, water_kg: float, humidity: float
    ) -> None:
        around = {**AROUND, "humidity": humidity, "outdoor_humidity": 0.3}
        load = given_off_kg_per_h(water_kg, 3.0, temperature_c=20.0, humidity=humidity)
        change = float(air_change_needed(load, 570.0, **around))
        site = Site(
            Houses(570.0, loss_w_per_k=1e6),
            Weather(np.full(30, 10.0), 0.3),
            Running(State.HEATED, change, setpoint_c=20.0),
            Coats([0], [0], [0], [water_kg], [3.0]),
            Dryers(),
        )
        assert climate_of(site).hourly.humidity[0, -1] <= humidity + 1e-6
