"""What no air can be, and slips of unit that only many hours together give away."""

from collections.abc import Sequence
from statistics import fmean, median

from django.utils.translation import gettext_noop

from finishing.rules.climate import vapour_kpa

COLDEST_C, HOTTEST_C = -60.0, 60.0
HOTTEST_MEAN_C = 45.0
"""No place on Earth is as hot on average, even for a week: such a mean is Fahrenheit."""
MOST_VAPOUR_KPA = 4.25
"""Saturation at 30 C. The dampest coasts come to a mean dew point of about 29 C in their dampest
month (from memory), so air with more on average is none: 41 F and 80 % called Celsius has 6 kPa."""
FRACTIONS = gettext_noop("looks like fractions of 1: write percent, 78 and not 0.78")


def are_fractions(percents: Sequence[float]) -> bool:
    """Tell humidity written as fractions of 1 from percent, a single slip among them or not."""
    return bool(percents) and median(percents) <= 1.0


def fahrenheit_mean(celsius: Sequence[float], percents: Sequence[float]) -> str:
    """Say that temperatures called Celsius look like Fahrenheit; "" where they do not.

    percents: relative humidity at the same hours.
    """
    if not celsius:
        return ""
    if (mean_c := fmean(celsius)) > HOTTEST_MEAN_C:
        return f"the mean is {mean_c:.0f} C: is this Fahrenheit?"
    humidity = [percent / 100 for percent in percents]
    if len(humidity) == len(celsius) and vapour_kpa(celsius, humidity).mean() > MOST_VAPOUR_KPA:
        return (
            f"a mean of {mean_c:.0f} C at {fmean(percents):.0f} % is damper than any place: "
            "is this Fahrenheit?"
        )
    return ""
