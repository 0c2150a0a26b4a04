"""The least and the most that a figure may be."""

from django.core.validators import BaseValidator, MaxValueValidator, MinValueValidator

type Limits = tuple[float, float]


def within(limits: Limits) -> list[BaseValidator]:
    """Return the checks of a figure that lies between two others, both allowed."""
    least, most = limits
    return [MinValueValidator(least), MaxValueValidator(most)]
