"""Caution texts. They name the usual cautions; local codes and licensed practice decide.

Behind them: NIOSH publication 99-113 (sanding dust), 29 CFR 1926.1153 (silica), 16 CFR 1304 (old
compounds), 29 CFR 1926.154 (heaters).
"""

from collections.abc import Iterable

from django.utils.functional import Promise
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from finishing.rules.cautions import Caution

_CAUTIONS: dict[str, Promise] = {
    "dust": _(
        "Sanding dust harms lungs and eyes: sand wet, by pole or with a vacuum, wear a fitted "
        "respirator and eye protection, keep others out and the room aired."
    ),
    "silica": _(
        "Joint compound may hold silica: read the product's data sheet and have the exposure "
        "assessed before sanding."
    ),
    "asbestos_old_joints": _(
        "Old joints and coatings may hold asbestos: disturb nothing until a licensed person has "
        "tested them."
    ),
    "alkaline_powder": _(
        "Setting powder is alkaline and gets warm as it sets: gloves and goggles while mixing, "
        "rinse skin and eyes with plenty of water."
    ),
    "heater_co": _(
        "A flame heater gives off carbon monoxide and water: fresh air, an alarm, never left "
        "unattended, away from anything that burns."
    ),
    "wet_area": _(
        "Wet area: the local code and the tiling or membrane system say what goes on these joints."
    ),
    "fire_rated": _(
        "Fire-rated lining: coats, tape and fillings as the tested system's documents ask; leave "
        "nothing out."
    ),
    "ladders": _(
        "Work at height: firm footing, a tower or trestles in order and inspected, nobody alone."
    ),
}


def caution_text(code: str) -> str:
    """Return the text of a caution code."""
    return str(_CAUTIONS.get(code, code))


def heater_cautions(flames: Iterable[bool]) -> list[str]:
    """Return what to say wherever heaters are named: nothing unless one burns something."""
    return [caution_text(Caution.HEATER_CO), defer_text()] if any(flames) else []


def defer_text() -> str:
    """Return the sentence that stands under every list of cautions."""
    return gettext("These are the usual cautions. Local codes and licensed practice decide.")
