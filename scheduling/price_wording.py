"""What prices are of, in words."""

from django.utils.translation import gettext_lazy as _

PRICES = {
    "hour": _("Person-hour"),
    "extra_hour": _("Person-hour in extra hours"),
    "travel_hour": _("Person-hour on the way"),
    "travel_km": _("Kilometre of the way"),
    "late_day": _("Day that a handover is late"),
}


def price_name(code: str, owner: str = "") -> str:
    """Say what a price is of, and whose."""
    name = str(PRICES.get(code, code))
    return f"{name}, {owner}" if owner else name
