"""The page of a house as it is on site: readiness, closures, and what the house is like."""

from collections.abc import Mapping
from typing import Any

from api.web.closures_form import ClosuresGroup
from api.web.facts_form import FactsGroup
from api.web.house_parts import PageOfParts
from api.web.readiness_form import ReadinessGroup
from finishing.models import House
from finishing.queries.houses import flames_brought
from finishing.rules.cautions import Caution
from scheduling.cautions_wording import caution_text, defer_text

CAUTIONS: Mapping[str, Caution] = {
    "flame_heater": Caution.HEATER_CO,
    "fire_rated": Caution.FIRE_RATED,
    "old_joints": Caution.ASBESTOS_OLD_JOINTS,
}
"""By field the caution that stands beside it where it is ticked."""


def _more(house: House) -> dict[str, Any]:
    """Return what else the page shows: cautions by field, and whether a flame was brought."""
    return {
        "has_flame_brought": flames_brought(house).exists(),
        "cautions": {
            name: f"{caution_text(code)} {defer_text()}" for name, code in CAUTIONS.items()
        },
    }


SITE = PageOfParts(
    address="site",
    template="web/site.html",
    groups={"readiness": ReadinessGroup, "closures": ClosuresGroup, "facts": FactsGroup},
    more=_more,
)
