"""What no air can be, and slips of unit that only many hours together give away."""

from collections.abc import Iterable
from statistics import fmean

from django.utils.translation import gettext_noop

COLDEST_C, HOTTEST_C = -60.0, 60.0
HOTTEST_MEAN_C = 45.0
"""No place on Earth is as hot on average, even for a week: such a mean is Fahrenheit."""
FRACTIONS = gettext_noop("looks like fractions of 1: write percent, 78 and not 0.78")


def are_fractions(percents: Iterable[float]) -> bool:
    """Tell humidity written as fractions of 1 from percent."""
    return max(percents, default=100.0) <= 1.0


def fahrenheit_mean(celsius: Iterable[float]) -> str:
    """Say that temperatures called Celsius look like Fahrenheit; "" where they do not."""
    values = list(celsius)
    mean_c = fmean(values) if values else 0.0
    return f"the mean is {mean_c:.0f} C: is this Fahrenheit?" if mean_c > HOTTEST_MEAN_C else ""
