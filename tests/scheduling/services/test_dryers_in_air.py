"""Several kinds of dehumidifiers in one house, each by its own maker's rating."""

import numpy as np
import pytest

from finishing.models import Dryer
from finishing.rules.dryers import removal_kg_per_h
from scheduling.services.dryers_in_air import Standing, dehumidifiers

SPAN = slice(100, 148)


def kind(litres_per_day: float, *, c: float = 26.7, humidity: float = 0.6, **more: float) -> Dryer:
    return Dryer(litres_per_day=litres_per_day, rated_c=c, rated_humidity=humidity, **more)


DRY_RATED = kind(20.0, hold_humidity=0.45)
DAMP_RATED = kind(30.0, c=30.0, humidity=0.8, hold_humidity=0.55)
"""The larger figure, and the smaller machine: 30 C and 80 % flatter it."""


@pytest.mark.parametrize("order", [(DRY_RATED, DAMP_RATED), (DAMP_RATED, DRY_RATED)])
def test_each_kind_counts_for_what_it_takes_out_of_the_same_air(order: tuple[Dryer, ...]) -> None:
    standing = [Standing(dryer, "house", 1, 0, 1000) for dryer in order]
    found = dehumidifiers(["house"], SPAN, standing)
    together = removal_kg_per_h(
        20.0,
        0.6,
        rated_l_per_day=np.asarray(found.count)[0, 0] * np.asarray(found.rated_l_per_day)[0],
        rated_c=np.asarray(found.rated_c)[0],
        rated_humidity=np.asarray(found.rated_humidity)[0],
    )
    each = [
        removal_kg_per_h(
            20.0,
            0.6,
            rated_l_per_day=dryer.litres_per_day,
            rated_c=dryer.rated_c,
            rated_humidity=dryer.rated_humidity,
        )
        for dryer in order
    ]
    assert together == pytest.approx(sum(each), rel=1e-12)
    assert each[order.index(DRY_RATED)] > each[order.index(DAMP_RATED)]
    assert np.asarray(found.hold_humidity) == pytest.approx([0.45])


def test_a_kind_that_stands_for_a_while_counts_then_only() -> None:
    standing = [Standing(DRY_RATED, "house", 2, 110, 120, emptied=frozenset({99, 115}))]
    found = dehumidifiers(["other", "house"], SPAN, standing)
    assert np.flatnonzero(np.asarray(found.count)[1]).tolist() == list(range(10, 20))
    assert np.flatnonzero(np.asarray(found.emptied)[1]).tolist() == [15]
    assert not np.asarray(found.count)[0].any()
