"""Reading a ready curve backwards agrees with trying every end."""

from hypothesis import given
from hypothesis import strategies as st

from scheduling.solver.curves import NEVER, latest_end
from scheduling.solver.problem import ReadyCurve, constant_lag
from tests.scheduling.solver.small_problems import curves


@given(curve=curves(), start=st.integers(0, 320))
def test_latest_end_is_the_last_that_is_ready_in_time(curve: ReadyCurve, start: int) -> None:
    ready = [end for end in range(-60, 340) if curve.ready(end) <= start]
    assert latest_end(curve, start) == (max(ready) if ready else NEVER) or not ready


@given(lag=st.integers(-5, 50), start=st.integers(0, 320))
def test_a_constant_lag_is_taken_off(lag: int, start: int) -> None:
    assert latest_end(constant_lag(lag), start) == start - lag
