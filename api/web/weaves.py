"""What fills the shapes of a drawn plan: the weave of each house, wet coats, closed days. Pure.

Every fill is told in black and white; the style sheet adds colour by class. The weaves are those
of the style sheet's ``tint-0`` to ``tint-7``.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from xml.etree import ElementTree as ET  # nosec B405


@dataclass(frozen=True)
class Weave:
    """A square tile of ``side`` pixels: a path in black on white or grey."""

    side: int
    path: str
    ground: str = "#fff"


WEAVES: Mapping[str, Weave] = {
    "weave-0": Weave(6, "M0 0H6V6H0Z"),
    "weave-1": Weave(8, "M0 0H4L0 4ZM8 0V4L4 8H0Z"),
    "weave-2": Weave(7, "M0 0H7V4H0Z"),
    "weave-3": Weave(7, "M3.5 .8A2.7 2.7 0 1 0 3.5 6.2A2.7 2.7 0 1 0 3.5 .8Z"),
    "weave-4": Weave(8, "M8 0H4L8 4ZM0 0V4L4 8H8Z", "#ccc"),
    "weave-5": Weave(9, "M0 0H6V9H0Z"),
    "weave-6": Weave(12, "M0 0H12V9H0Z"),
    "weave-7": Weave(8, "M0 0H4V4H0ZM4 4H8V8H4Z"),
    "sanding": Weave(4, "M0 0H1V4H0Z"),
    "wet": Weave(5, "M1.2 2.5A1.3 1.3 0 1 0 3.8 2.5A1.3 1.3 0 1 0 1.2 2.5Z"),
    "off": Weave(9, "M0 0H1.5L0 1.5ZM9 0V1.5L1.5 9H0Z", "none"),
    "closed": Weave(6, "M0 0L6 6M6 0L0 6", "none"),
    "cold": Weave(6, "M0 0H6L3 5Z", "none"),
}
"""By name. ``weave-N``: a house's; sanding: of coats; wet: a coat that dries; off: a day without
work; closed: an area that others have; cold: air below what coats need."""


def fill(name: str) -> str:
    """Return the fill attribute of one of WEAVES."""
    return f"url(#{name})"


def weave_markup() -> str:
    """Return the patterns of WEAVES; once on a page whose drawings use them."""
    root = ET.Element(
        "svg", {"class": "unseen", "width": "0", "height": "0", "aria-hidden": "true"}
    )
    definitions = ET.SubElement(root, "defs")
    for name, weave in WEAVES.items():
        side = str(weave.side)
        tile = {"width": side, "height": side, "patternUnits": "userSpaceOnUse"}
        pattern = ET.SubElement(definitions, "pattern", {"id": name, "class": name, **tile})
        if weave.ground != "none":
            ground = {"d": f"M0 0H{side}V{side}H0Z", "fill": weave.ground, "class": "ground"}
            ET.SubElement(pattern, "path", ground)
        thread = {"stroke": "#000", "stroke-width": "0.8"} if name == "closed" else {"fill": "#000"}
        ET.SubElement(pattern, "path", {"d": weave.path, "class": "thread", **thread})
    return ET.tostring(root, encoding="unicode")
