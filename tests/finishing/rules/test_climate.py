"""Indoor and assumed air. Vapour pressure and dew point against psychrolib (ASHRAE 2017)."""

import numpy as np
import psychrolib
import pytest
from CoolProp.HumidAirProp import HAPropsSI
from hypothesis import given
from hypothesis import strategies as st

from finishing.rules.climate import (
    dew_point_c,
    extend_air,
    humidity_ratio,
    indoor_air,
    relative_humidity,
    vapour_kpa,
)


@pytest.mark.parametrize(("celsius", "humidity"), [(-5.0, 0.8), (10.0, 0.9), (21.0, 0.5)])
def test_vapour_pressure_and_dew_point_against_psychrolib(celsius: float, humidity: float) -> None:
    psychrolib.SetUnitSystem(psychrolib.SI)
    pressure_kpa = vapour_kpa(celsius, humidity)
    expected_pa = psychrolib.GetVapPresFromRelHum(celsius, humidity)
    assert float(pressure_kpa) == pytest.approx(expected_pa / 1000, rel=1e-6)
    expected_c = psychrolib.GetTDewPointFromRelHum(celsius, humidity)
    assert float(dew_point_c(pressure_kpa)) == pytest.approx(expected_c, abs=1e-3)


@given(st.floats(-30.0, 45.0), st.floats(0.01, 1.0))
def test_humidity_and_vapour_pressure_are_inverses(celsius: float, humidity: float) -> None:
    back = relative_humidity(celsius, vapour_kpa(celsius, humidity))
    assert float(back) == pytest.approx(humidity)


class TestIndoorAir:
    def test_unheated_is_outdoor_air(self) -> None:
        outdoor_c, outdoor_rh = np.array([5.0, 12.0]), np.array([0.9, 0.7])
        indoor = indoor_air(outdoor_c, outdoor_rh, setpoint_c=None)
        assert indoor.temperature_c.tolist() == [5.0, 12.0]
        assert indoor.humidity.tolist() == [0.9, 0.7]

    def test_heating_leaves_the_vapour_pressure_and_never_cools(self) -> None:
        outdoor_c, outdoor_rh = np.array([5.0, 26.0]), np.array([0.9, 0.7])
        indoor = indoor_air(outdoor_c, outdoor_rh, setpoint_c=20.0)
        assert indoor.temperature_c.tolist() == [20.0, 26.0]
        assert vapour_kpa(*indoor) == pytest.approx(vapour_kpa(outdoor_c, outdoor_rh))

    def test_heated_humidity_against_psychrolib(self) -> None:
        # Outdoor 5 C 90 %: the same vapour pressure at 20 C.
        psychrolib.SetUnitSystem(psychrolib.SI)
        expected = psychrolib.GetRelHumFromVapPres(20.0, psychrolib.GetVapPresFromRelHum(5.0, 0.9))
        indoor = indoor_air(np.array([5.0]), np.array([0.9]), setpoint_c=20.0)
        assert indoor.humidity[0] == pytest.approx(expected, rel=1e-6)


class TestExtendedAir:
    def test_past_the_end_the_mean_of_seven_days_by_hour_of_day(self) -> None:
        # Ten days; each hour's temperature is its hour of the day plus the day's number.
        hours = np.arange(240)
        celsius, humidity = hours % 24 + hours // 24 * 1.0, np.full(240, 0.6)
        extended = extend_air(celsius, humidity, 300)
        assert extended.assumed_from == 240
        assert len(extended.temperature_c) == len(extended.humidity) == 300
        # The last seven days are 3 to 9; their mean is 6.
        assert extended.temperature_c[240:].tolist() == [h % 24 + 6.0 for h in range(240, 300)]

    def test_a_record_that_ends_within_a_day_goes_on_at_the_next_hour(self) -> None:
        celsius = (np.arange(60) % 24).astype(np.float64)
        extended = extend_air(celsius, np.full(60, 0.5), 100)
        assert extended.temperature_c.tolist() == [hour % 24 for hour in range(100)]

    def test_a_long_record_stays_as_it_is(self) -> None:
        celsius = np.linspace(5.0, 20.0, 50)
        extended = extend_air(celsius, np.full(50, 0.5), 40)
        assert extended.temperature_c.tolist() == celsius.tolist()
        assert extended.assumed_from == 50

    @pytest.mark.parametrize(("hours", "humid_hours"), [(23, 23), (0, 0), (48, 47)])
    def test_less_than_a_day_is_refused(self, hours: int, humid_hours: int) -> None:
        with pytest.raises(ValueError, match="air"):
            extend_air(np.zeros(hours), np.zeros(humid_hours), 100)


class TestHumidityRatio:
    # ASHRAE Handbook, Fundamentals, by psychrolib; CoolProp's humid air is of a real gas.
    @pytest.mark.parametrize(("celsius", "humidity"), [(-5.0, 0.8), (10.0, 0.9), (21.0, 0.5)])
    def test_against_psychrolib_and_coolprop(self, celsius: float, humidity: float) -> None:
        psychrolib.SetUnitSystem(psychrolib.SI)
        ratio = float(humidity_ratio(vapour_kpa(celsius, humidity)))
        expected = psychrolib.GetHumRatioFromRelHum(celsius, humidity, 101325.0)
        assert ratio == pytest.approx(expected, rel=1e-6)
        kelvin = celsius + 273.15
        real = HAPropsSI("W", "T", kelvin, "P", 101325.0, "R", humidity)
        assert ratio == pytest.approx(real, rel=0.01)
