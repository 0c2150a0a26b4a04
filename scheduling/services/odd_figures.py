"""Figures that no house has, however they came to be in its row: nothing is known of its air."""

from finishing.models import House
from finishing.models.house import LIMITS
from finishing.queries.volumes import volume_m3


def odd_figures(house: House) -> list[str]:
    """Return the codes of the holds for them (``Hold``); none where its air can be worked out."""
    coldest_c, hottest_c = LIMITS["setpoint_c"]
    heated_c = house.held_c
    fits = {
        "odd_volume": volume_m3(house) > 0,
        "odd_air_changes": house.air_changes_per_h >= 0,
        "odd_heat": house.heat_kw is None or house.heat_kw >= 0,
        "odd_setpoint": heated_c is None or coldest_c <= heated_c <= hottest_c,
    }
    return [code for code, it_does in fits.items() if not it_does]
