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


_LITTLE = 0.1
"""Less, in litres or kg, is said in ml or g."""
_LITTLE_IN_GALLONS = 0.25
_LITTLE_IN_POUNDS = 1.0
"""Less is said in ounces: figures have one decimal, and a tenth of a gallon is 0.4 L."""


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
        return f"{self.volume(litres)} ({self.weight(kg)})"

    def mix(self, powder_kg: float, water_l: float) -> str:
        """Return what an amount of setting compound is mixed from."""
        said = gettext("from %(powder)s powder and %(water)s water")
        return said % {"powder": self.weight(powder_kg), "water": self.volume(water_l)}

    def volume(self, litres: float) -> str:
        """Return an amount of compound or water; of little in a unit that does not make it 0."""
        if not self.imperial:
            if litres < _LITTLE:
                return gettext("%(ml)s ml") % {"ml": figure(round(1000 * litres))}
            return gettext("%(litres)s L") % {"litres": figure(litres)}
        gallons = litres / LITRES_PER_GALLON
        if gallons < _LITTLE_IN_GALLONS:
            return gettext("%(ounces)s fl oz") % {"ounces": figure(round(128 * gallons))}
        return gettext("%(gallons)s gal") % {"gallons": figure(gallons)}

    def weight(self, kg: float) -> str:
        """Return a weight; of little in a unit that does not make it 0."""
        if not self.imperial:
            if kg < _LITTLE:
                return gettext("%(grams)s g") % {"grams": figure(round(1000 * kg))}
            return gettext("%(kg)s kg") % {"kg": figure(kg)}
        pounds = kg / KG_PER_POUND
        if pounds < _LITTLE_IN_POUNDS:
            return gettext("%(ounces)s oz") % {"ounces": figure(round(16 * pounds))}
        return gettext("%(pounds)s lb") % {"pounds": figure(pounds)}

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
