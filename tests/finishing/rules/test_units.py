"""Units: checked at the fixed points of the scales and by the definitions of 1959."""

import numpy as np
import pytest

from finishing.rules.units import (
    celsius_from_fahrenheit,
    fahrenheit_from_celsius,
    metres_from_feet,
    millimetres_from_inches,
    square_metres_from_square_feet,
)


# Fixed points: water freezes at 32 F and boils at 212 F; the scales meet at -40.
@pytest.mark.parametrize(("fahrenheit", "celsius"), [(32.0, 0.0), (212.0, 100.0), (-40.0, -40.0)])
def test_temperature_scales(fahrenheit: float, celsius: float) -> None:
    assert celsius_from_fahrenheit(fahrenheit) == pytest.approx(celsius)
    assert fahrenheit_from_celsius(celsius) == pytest.approx(fahrenheit)


def test_temperatures_come_in_series_too() -> None:
    series = np.array([32.0, 50.0, 68.0])
    assert celsius_from_fahrenheit(series) == pytest.approx([0.0, 10.0, 20.0])


def test_lengths_by_the_international_foot() -> None:
    # International yard and pound agreement, 1959: 1 ft = 0.3048 m, 1 in = 25.4 mm.
    assert metres_from_feet(8.0) == pytest.approx(2.4384)
    assert millimetres_from_inches(1 / 16) == pytest.approx(1.5875)
    assert square_metres_from_square_feet(1000.0) == pytest.approx(92.90304)
