"""Which cautions to show with a stage: codes only, the words are elsewhere.

Sources of the cautions: sanding dust, NIOSH publication 99-113; silica, 29 CFR 1926.1153 (its
Table 1 lists no sanding of joint compound, so exposure has to be assessed; that absence from
memory); old joints, 16 CFR 1304 (joints older than about 1980 are tested before any sanding;
dates differ by country); heaters, 29 CFR 1926.154. Local codes and licensed practice decide.
"""

from enum import StrEnum

from finishing.rules.vocabulary import COATS, DUSTY, Hardening, Stage


class Caution(StrEnum):
    """Codes of cautions, in the order in which they are shown."""

    DUST = "dust"
    SILICA = "silica"
    ASBESTOS_OLD_JOINTS = "asbestos_old_joints"
    ALKALINE_POWDER = "alkaline_powder"
    HEATER_CO = "heater_co"
    WET_AREA = "wet_area"
    FIRE_RATED = "fire_rated"
    LADDERS = "ladders"


_TOUCH_UPS = frozenset({Stage.PRIMER_TOUCH_UP, Stage.TRADES_TOUCH_UP})
_ABRADING = DUSTY | _TOUCH_UPS
_WITH_COMPOUND = COATS | _TOUCH_UPS | {Stage.CORNICE}


def cautions_for(
    stage: Stage,
    *,
    hardening: Hardening | None,
    wet_area: bool,
    old_joints: bool,
    fire_rated: bool,
    high: bool,
    heated_by_flame: bool,
) -> tuple[Caution, ...]:
    """Return the cautions that apply to a stage of a surface.

    hardening: of the stage's compound, None where it uses none. old_joints: the surface has
    joints that may date from before about 1980. high: worked from ladders, trestles or a tower.
    heated_by_flame: an unvented heater burns in the house.
    """
    applies = {
        Caution.DUST: stage in _ABRADING,
        Caution.SILICA: stage in _ABRADING,
        Caution.ASBESTOS_OLD_JOINTS: old_joints and stage in _ABRADING,
        Caution.ALKALINE_POWDER: hardening is Hardening.SETS and stage in _WITH_COMPOUND,
        Caution.HEATER_CO: heated_by_flame,
        Caution.WET_AREA: wet_area and stage in COATS,
        Caution.FIRE_RATED: fire_rated and stage in COATS,
        Caution.LADDERS: high,
    }
    return tuple(caution for caution, shown in applies.items() if shown)
