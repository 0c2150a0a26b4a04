"""How many random examples a test looks at: a few, or many where COATWEAVE_SOAK is set."""

import os
from collections.abc import Callable

import pytest
from hypothesis import HealthCheck, settings

SOAK = "COATWEAVE_SOAK"


def examples[**P](few: int, *, soak: int) -> Callable[[Callable[P, None]], Callable[P, None]]:
    """Return what gives a test so many examples, and so many in the soak run."""
    number = soak if SOAK in os.environ else few
    unhurried = [HealthCheck.too_slow, HealthCheck.function_scoped_fixture]
    chosen = settings(max_examples=number, suppress_health_check=unhurried)
    return lambda test: pytest.mark.examples(chosen(test))
