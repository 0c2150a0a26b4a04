"""Figures in the units that a crew works in: metric, or inches, feet, gallons and pounds."""

from dataclasses import dataclass

from django.utils.functional import Promise
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from finishing.rules.units import (
    KG_PER_POUND,
    LITRES_PER_GALLON,
    METRES_PER_FOOT,
    MM_PER_INCH,
    fahrenheit_from_celsius,
)
from scheduling.wording import Codes, figure, quantity, tool_name

_KNIVES_BY_INCH: dict[str, Promise] = {
    "knife_150": _("6 in knife"),
    "knife_200": _("8 in knife"),
    "knife_250": _("10 in knife"),
    "knife_300": _("12 in knife"),
}
"""What these are sold as where widths are in inches: common practice, no published source."""


@dataclass(frozen=True)
class Measures:
    """Says lengths, widths, amounts and temperatures; all are given in SI, and rounded to say."""

    imperial: bool = False

    def quantity(self, value: float, unit: str) -> str:
        """Return metres ("m"), square metres ("m2") or a count ("each") with its unit."""
        if self.imperial and unit == "m":
            return gettext("%(feet)s ft") % {"feet": figure(round(value / METRES_PER_FOOT))}
        if self.imperial and unit == "m2":
            return gettext("%(feet)s sq ft") % {"feet": figure(round(value / METRES_PER_FOOT**2))}
        return quantity(value, unit)

    def width(self, line: Codes) -> str:
        """Return how wide a joint is coated, in millimetres or to the half inch."""
        least, most = (
            self._width(mm)
            for mm in (line.get("width_least_mm") or line["width_mm"], line["width_mm"])
        )
        said = most if least == most else f"{least}-{most}"
        if line.get("width_each_side"):
            each = gettext("%(inches)s in to each side"), gettext("%(mm)s mm to each side")
            return each[not self.imperial] % {"inches": said, "mm": said}
        plain = gettext("%(inches)s in"), gettext("%(mm)s mm")
        return plain[not self.imperial] % {"inches": said, "mm": said}

    def compound(self, litres: float, kg: float) -> str:
        """Return an amount of compound by volume and weight."""
        if self.imperial:
            return gettext("%(gallons)s gal (%(pounds)s lb)") % {
                "gallons": figure(litres / LITRES_PER_GALLON),
                "pounds": figure(kg / KG_PER_POUND),
            }
        return gettext("%(litres)s L (%(kg)s kg)") % {"litres": figure(litres), "kg": figure(kg)}

    def mix(self, powder_kg: float, water_l: float) -> str:
        """Return what an amount of setting compound is mixed from."""
        if self.imperial:
            return gettext("from %(pounds)s lb powder and %(gallons)s gal water") % {
                "pounds": figure(powder_kg / KG_PER_POUND),
                "gallons": figure(water_l / LITRES_PER_GALLON),
            }
        return gettext("from %(powder)s kg powder and %(water)s L water") % {
            "powder": figure(powder_kg),
            "water": figure(water_l),
        }

    def water(self, litres: float) -> str:
        """Return an amount of water."""
        if self.imperial:
            gallons = figure(litres / LITRES_PER_GALLON)
            return gettext("%(gallons)s gal") % {"gallons": gallons}
        return gettext("%(litres)s L") % {"litres": figure(litres)}

    def temperature(self, celsius: float) -> str:
        """Return a temperature with its unit."""
        if self.imperial:
            return f"{figure(fahrenheit_from_celsius(celsius))} °F"
        return f"{figure(celsius)} °C"

    def tool(self, code: str) -> str:
        """Return a tool's name."""
        known = _KNIVES_BY_INCH.get(code) if self.imperial else None
        return str(known) if known else tool_name(code)

    def _width(self, mm: float) -> str:
        return figure(round(2 * mm / MM_PER_INCH) / 2 if self.imperial else mm)


METRIC = Measures()
