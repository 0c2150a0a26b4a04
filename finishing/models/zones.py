"""A field for IANA time zones."""

from zoneinfo import available_timezones

from django.core.exceptions import ValidationError


def validate_zone(value: str) -> None:
    """Refuse a name that is not an IANA time zone."""
    if value not in available_timezones():
        raise ValidationError(f"{value!r} is not an IANA time zone such as Europe/Dublin")
