"""Looks at coats by margin."""

from math import inf, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishing.rules.predicted_waits import CoatLook, by_margin


def test_by_hand() -> None:
    looks = [CoatLook(-1.0, True), CoatLook(0.0, True), CoatLook(1.9, False), CoatLook(30.0, True)]
    found = {(one.low, one.high): (one.looks, one.wet, one.wet_share) for one in by_margin(looks)}
    assert found == {
        (-inf, 0.0): (1, 1, 1.0),
        (0.0, 2.0): (2, 1, 0.5),
        (2.0, 8.0): (0, 0, None),
        (8.0, 24.0): (0, 0, None),
        (24.0, inf): (1, 1, 1.0),
    }


@given(st.lists(st.builds(CoatLook, st.floats(-500, 500), st.booleans())))
def test_every_look_is_in_one_class(looks: list[CoatLook]) -> None:
    found = by_margin(looks)
    assert sum(one.looks for one in found) == len(looks)
    assert sum(one.wet for one in found) == sum(look.wet for look in looks)


def test_a_margin_that_is_no_number() -> None:
    with pytest.raises(ValueError, match="without an hour"):
        by_margin([CoatLook(nan, False)])
