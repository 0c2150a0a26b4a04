"""Dehumidifiers and heaters that stand in houses, as the climate of those houses takes them."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from finishing.models import Dryer
from finishing.rules.dryers import relative_removal
from finishing.rules.house_inputs import Dryers, Heaters


@dataclass(frozen=True)
class Standing:
    """Dryers of one kind that stand in a house from one hour to another, and the hours in which
    somebody is there to empty them."""

    dryer: Dryer
    house: str
    count: int
    first_hour: int
    end_hour: int
    emptied: frozenset[int] = frozenset()

    def hours_in(self, span: slice) -> slice:
        """Return the hours of the stay, counted from the first of a span of hours."""
        return slice(max(self.first_hour - span.start, 0), max(self.end_hour - span.start, 0))

    def emptied_in(self, span: slice) -> list[int]:
        """Return the hours in which tanks are emptied, counted likewise."""
        return [hour - span.start for hour in self.emptied if span.start <= hour < span.stop]


def dehumidifiers(houses: Sequence[str], span: slice, standing: Sequence[Standing]) -> Dryers:
    """Return the dehumidifiers by house.

    Where several kinds stand in a house, each counts for what it takes out in the same air, as so
    many of the one that takes out most, whose humidistat and tank are taken for all.
    """
    count = np.zeros((len(houses), span.stop - span.start))
    emptied = np.zeros(count.shape, dtype=np.bool_)
    there = [(place, stay) for place, stay in _placed(houses, standing) if _takes_out(stay.dryer)]
    strongest: dict[int, Dryer] = {}
    for place, stay in there:
        other = strongest.setdefault(place, stay.dryer)
        strongest[place] = max(other, stay.dryer, key=_takes_out)
    for place, stay in there:
        share = _takes_out(stay.dryer) / _takes_out(strongest[place])
        count[place, stay.hours_in(span)] += stay.count * share
        emptied[place, stay.emptied_in(span)] = True
    kinds = [strongest.get(place, Dryer()) for place in range(len(houses))]
    return Dryers(
        count=count,
        rated_l_per_day=np.array([kind.litres_per_day for kind in kinds]),
        rated_c=np.array([kind.rated_c for kind in kinds]),
        rated_humidity=np.array([kind.rated_humidity for kind in kinds]),
        hold_humidity=np.array([kind.hold_humidity for kind in kinds]),
        least_c=np.array([kind.least_c for kind in kinds]),
        tank_l=np.array([kind.tank_l or np.inf for kind in kinds]),
        emptied=emptied,
    )


def heaters(houses: Sequence[str], span: slice, standing: Sequence[Standing]) -> Heaters:
    """Return the heaters by hour; of several thermostats in a house the lowest counts for all."""
    heat_kw, flame_kw = np.zeros((2, len(houses), span.stop - span.start))
    hold_c = np.full(heat_kw.shape, np.inf)
    for place, stay in _placed(houses, standing):
        if not stay.dryer.heat_kw:
            continue
        hours = stay.hours_in(span)
        heat_kw[place, hours] += stay.count * stay.dryer.heat_kw
        flame_kw[place, hours] += stay.count * stay.dryer.heat_kw * stay.dryer.flame
        hold_c[place, hours] = np.minimum(hold_c[place, hours], stay.dryer.hold_c)
    flame_share = np.divide(flame_kw, heat_kw, out=np.zeros_like(heat_kw), where=heat_kw > 0)
    return Heaters(heat_kw, hold_c, flame_share)


def _placed(houses: Sequence[str], standing: Sequence[Standing]) -> Iterator[tuple[int, Standing]]:
    """Yield what stands in the houses, each with the place of its house."""
    number = {house: place for place, house in enumerate(houses)}
    for stay in standing:
        if stay.house in number:
            yield number[stay.house], stay


def _takes_out(dryer: Dryer) -> float:
    """Return litres a day in air in which all are alike to compare: 26.7 C and 60 %."""
    return dryer.litres_per_day / float(relative_removal(dryer.rated_c, dryer.rated_humidity))
