"""Many histories at once, against the rules for one."""

import numpy as np
import pytest

from finishing.rules.cold import starts_in_range
from finishing.rules.drying import dry_at, progress
from finishing.rules.ensemble import Ensemble, Limits, WarmStarts

HISTORIES, HOURS = 40, 600
RANDOM = np.random.default_rng(7)
SPELLS = RANDOM.normal(14, 3, (HISTORIES, HOURS // 60)).repeat(60, axis=1)
AIR = Ensemble.of(
    SPELLS + RANDOM.normal(0, 0.5, SPELLS.shape), RANDOM.uniform(0.3, 1.0, SPELLS.shape)
)


@pytest.mark.parametrize("amount", [0.0, 0.44, 1.0, 3.5, 60.0])
def test_each_history_dries_as_it_does_alone(amount: float) -> None:
    ends = RANDOM.uniform(0, HOURS + 5, HISTORIES)
    ends[:3] = 0.0, HOURS, 17.0
    found = AIR.dry_at(ends, amount)
    for history in range(HISTORIES):
        alone = progress(AIR.temperature_c[history], AIR.humidity[history])
        assert found[history] == pytest.approx(float(dry_at(alone, ends[history], amount)))


def test_a_coat_waits_for_the_hours_in_which_anything_dries() -> None:
    """The house is saturated but for its hours 10 to 19, and in the second history always."""
    share = np.zeros((2, 30))
    share[0, 10:20] = 1.0
    air = Ensemble.of(np.full((2, 30), 20.0), np.full((2, 30), 0.5), drying_share=share)
    amount = float(air.progress[0, 15])
    np.testing.assert_allclose(air.dry_at(np.array([3.0, 3.0]), amount), [15, np.inf])
    np.testing.assert_allclose(air.dry_at(np.array([3.0, 3.0]), 0.0), [3, 3])
    np.testing.assert_allclose(air.dry_at(np.array([25.0, 0.0]), 0.0), [25, 0])
    assert WarmStarts(air, 10.0, 35.0).first_from(
        np.array([0, 0]), Limits(10.0, 35.0, 48.0, 1.0, amount=amount)
    ).tolist() == [0, 30]


@pytest.mark.parametrize(
    "limits",
    [
        Limits(10.0, 35.0, 48.0, 1.4, amount=1.0),
        Limits(12.0, 17.0, 24.0, 0.5, amount=0.44),
        Limits(10.0, 35.0, 47.5, 3.0, set_hours=2.0),
        Limits(12.0, 16.0, 0.0, 3.0, set_hours=1.5),
    ],
)
def test_the_first_warm_start_is_that_of_each_history_alone(limits: Limits) -> None:
    warm = WarmStarts(AIR, limits.minimum_c, limits.maximum_c)
    allowed = np.array([_allowed(history, limits) for history in range(HISTORIES)])
    assert allowed.any()
    assert not allowed.all()
    for hour in (0, 3, 50, 111, 300, HOURS - 1, HOURS):
        first = [np.flatnonzero(row[hour:]) for row in allowed]
        wanted = [hour + int(found[0]) if found.size else HOURS for found in first]
        assert warm.first_from(np.full(HISTORIES, hour), limits).tolist() == wanted


def _allowed(history: int, limits: Limits) -> np.ndarray:
    hours = np.arange(HOURS, dtype=float)
    alone = progress(AIR.temperature_c[history], AIR.humidity[history])
    if limits.amount is None:
        over = np.full(HOURS, 1 + limits.work_hours + limits.set_hours)
    else:
        ended = np.minimum(hours + 1 + limits.work_hours, HOURS)
        over = dry_at(alone, ended, limits.amount) - hours
    return starts_in_range(
        AIR.temperature_c[history],
        dry_hours_after=over,
        minimum_c=limits.minimum_c,
        maximum_c=limits.maximum_c,
        conditioning_hours=limits.conditioning_hours,
    )


def test_warm_air_closes_nothing() -> None:
    warm = Ensemble.of(np.full((2, 50), 20.0), np.full((2, 50), 0.5))
    assert WarmStarts(warm, 10.0, 35.0).always
    assert not WarmStarts(AIR, 10.0, 35.0).always
