"""Ready curves read backwards, and two as one, agree with trying every end."""

from hypothesis import given
from hypothesis import strategies as st

from scheduling.solver.curves import NEVER, earlier, latest_end
from scheduling.solver.problem import ReadyCurve, constant_lag, curve_faults
from tests.scheduling.solver.small_problems import curves


@given(curve=curves(), start=st.integers(0, 320))
def test_latest_end_is_the_last_that_is_ready_in_time(curve: ReadyCurve, start: int) -> None:
    ready = [end for end in range(-60, 340) if curve.ready(end) <= start]
    assert latest_end(curve, start) == (max(ready) if ready else NEVER) or not ready


@given(lag=st.integers(-5, 50), start=st.integers(0, 320))
def test_a_constant_lag_is_taken_off(lag: int, start: int) -> None:
    assert latest_end(constant_lag(lag), start) == start - lag


@given(one=curves(), two=curves())
def test_of_two_curves_the_earlier_answer_counts_at_every_end(
    one: ReadyCurve, two: ReadyCurve
) -> None:
    both = earlier(one, two)
    assert not curve_faults(both)
    for end in range(-60, 640):
        assert both.ready(end) == min(one.ready(end), two.ready(end))
