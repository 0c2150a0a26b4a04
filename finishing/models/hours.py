"""A check for weekly hours."""

from django.core.exceptions import ValidationError

from finishing.rules.hours import HoursError, parse_hours


def validate_hours(value: str) -> None:
    """Refuse hours that cannot be read, with everything that is wrong with them."""
    try:
        parse_hours(value)
    except HoursError as error:
        raise ValidationError(error.faults) from None
