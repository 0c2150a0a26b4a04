"""How fast compound goes on, which says how much of a setting one may be mixed at once."""

from collections.abc import Mapping
from types import MappingProxyType

from finishing.rules.compounds import NEEDS_COMPOUND
from finishing.rules.vocabulary import Stage

PLACED: tuple[Stage, ...] = tuple(stage for stage in Stage if stage in NEEDS_COMPOUND)
"""The stages that put compound on."""

ASSUMED = "common practice, no published source"
DEFAULT_LITRES_PER_HOUR: Mapping[Stage, float] = MappingProxyType(
    {
        Stage.PREFILL: 2.0,
        Stage.TAPE: 5.0,
        Stage.SECOND: 5.0,
        Stage.FINISH: 8.0,
        Stage.OTHER_FACE: 5.0,
        Stage.SKIM: 30.0,
        Stage.CORNICE: 2.0,
        Stage.PRIMER_TOUCH_UP: 1.5,
        Stage.TRADES_TOUCH_UP: 1.5,
    }
)
"""Mixed litres that one person puts on in an hour, waste included: assumptions, near what the
labour rates of default_rates.py and the volumes of materials.py come to together."""
