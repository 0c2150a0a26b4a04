"""Amounts in a crew's measures: of little, too, no figure reads 0."""

import pytest

from scheduling.measures import METRIC, Measures

IMPERIAL = Measures(imperial=True)


@pytest.mark.parametrize(
    ("litres", "metric", "imperial"),
    [
        (3.785411784, "3.8 L", "1 gal"),
        (0.6, "0.6 L", "20 fl oz"),  # 20.29, at 29.5735295625 ml
        (0.04, "40 ml", "1 fl oz"),
    ],
)
def test_volumes(litres: float, metric: str, imperial: str) -> None:
    assert (METRIC.volume(litres), IMPERIAL.volume(litres)) == (metric, imperial)


@pytest.mark.parametrize(
    ("kg", "metric", "imperial"),
    [
        (0.45359237, "0.5 kg", "1 lb"),
        (0.1, "0.1 kg", "4 oz"),  # 3.53, at 28.349523125 g
        (0.04, "40 g", "1 oz"),
    ],
)
def test_weights(kg: float, metric: str, imperial: str) -> None:
    assert (METRIC.weight(kg), IMPERIAL.weight(kg)) == (metric, imperial)


def test_a_mix_says_what_it_is_made_of() -> None:
    assert METRIC.mix(0.09, 0.054) == "from 90 g powder and 54 ml water"
    assert IMPERIAL.mix(0.09, 0.054) == "from 3 oz powder and 2 fl oz water"
    assert METRIC.compound(3.2, 5.28) == "3.2 L (5.3 kg)"
