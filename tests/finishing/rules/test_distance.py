"""Distances on the globe."""

import pytest

from finishing.rules.distance import great_circle_km


def test_a_degree_of_latitude_and_a_quarter_of_the_globe() -> None:
    """A sphere of 6,371 km has degrees of 111.19 km, and 10,007.5 km from a pole to the equator."""
    assert great_circle_km((53.0, -6.0), (54.0, -6.0)) == pytest.approx(111.19, abs=0.01)
    assert great_circle_km((90.0, 0.0), (0.0, 70.0)) == pytest.approx(10007.5, abs=0.1)
    assert great_circle_km((53.0, -6.0), (53.0, -6.0)) == 0.0
    assert great_circle_km((0.0, 179.5), (0.0, -179.5)) == pytest.approx(111.19, abs=0.01)
