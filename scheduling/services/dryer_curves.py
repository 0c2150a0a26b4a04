"""How coats dry beside dryers that do not stand there yet: the waits that a search compares.

Houses with each unit and each group of units are worked out all at once, as houses of their own:
the hours of a climate take almost as long for one house as for a hundred.
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from copy import copy
from dataclasses import replace
from itertools import chain, combinations_with_replacement
from uuid import uuid5

from finishing.models import Company, Dryer, House
from finishing.rules.waits import air_ready_curve
from scheduling.services.air_layers import Hours
from scheduling.services.cautious_air import CautiousAir
from scheduling.services.dryer_stays import bare_dryer
from scheduling.services.dryers_in_air import Standing
from scheduling.services.house_air import HouseAir
from scheduling.services.house_climates import WantedAir, house_airs
from scheduling.services.plan_inputs import PlanInputs
from scheduling.services.stored_air import StoredAir
from scheduling.services.timeline import TICKS_PER_HOUR
from scheduling.solver import stays as solver
from scheduling.solver.curves import earlier
from scheduling.solver.problem import ReadyCurve
from scheduling.solver.stays import Beside, Fleet, Units

EMPTIED_EVERY_HOURS = 24
"""How often the search takes a tank to be emptied; the plan's own visits decide afterwards."""

MOST_BESIDE = 3
"""How many units may stand beside a coat."""
MOST_GROUPS = 15
"""Of how many groups of several units the waits are worked out: pairs first, then by what they
take out. Fifteen are all pairs of five kinds."""


def dryers_with_curves(
    company: Company,
    inputs: PlanInputs,
    rows: Mapping[str, Dryer],
    *,
    several_in: Collection[str] = (),
) -> Fleet:
    """Return dryers as the solver knows them, with the waits of coats beside so many more of them
    than the plan has, from now on, in the air that the inputs have otherwise.

    several_in: houses (ids) in which groups of units are asked after, and not only single ones.
    """
    singles = [(key,) for key in rows]
    wanted = [
        *((house, units) for units in singles for house in inputs.airs),
        *((house, units) for units in _groups(rows) for house in several_in),
    ]
    found: dict[Units, dict[str, ReadyCurve]] = {units: {} for _, units in wanted}
    by_house = _curves_by_house(inputs)
    for (house, units), drying in zip(wanted, _drying(company, inputs, rows, wanted), strict=True):
        for name in by_house.get(house, ()):
            found[units][name] = _curve(inputs, name, drying)
    return Fleet(tuple(map(bare_dryer, rows.values())), tuple(never_slower(found)))


def never_slower(found: Mapping[Units, solver.Curves]) -> Iterator[Beside]:
    """Yield what units do to the waits of coats, smaller groups first: none longer than without
    one of the units."""
    known: dict[Units, dict[str, ReadyCurve]] = {}
    for units in sorted(found, key=len):
        known[units] = dict(found[units])
        for place in range(len(units)):
            fewer = known.get(units[:place] + units[place + 1 :], {})
            for name in fewer.keys() & known[units].keys():
                known[units][name] = earlier(known[units][name], fewer[name])
        yield Beside(units, known[units])


def _groups(rows: Mapping[str, Dryer]) -> list[Units]:
    """Return the groups of several units that there are, those that take out most first."""

    def taken_out(units: Units) -> float:
        return sum(rows[key].litres_per_day for key in units)

    sizes = (
        sorted(combinations_with_replacement(sorted(rows), size), key=taken_out, reverse=True)
        for size in range(2, MOST_BESIDE + 1)
    )
    there = (
        units
        for units in chain.from_iterable(sizes)
        if all(units.count(key) <= rows[key].count for key in units)
    )
    return [units for units, _ in zip(there, range(MOST_GROUPS), strict=False)]


def _curves_by_house(inputs: PlanInputs) -> dict[str, list[str]]:
    names: dict[str, list[str]] = {}
    for name, drying in inputs.drying.items():
        if name in inputs.problem.curves:
            names.setdefault(drying.house, []).append(name)
    return names


def _curve(inputs: PlanInputs, name: str, drying: Hours) -> ReadyCurve:
    amount, horizon = inputs.drying[name].amount, inputs.timeline.horizon
    return ReadyCurve(*air_ready_curve(drying, amount, horizon_ticks=horizon))


def _drying(
    company: Company,
    inputs: PlanInputs,
    rows: Mapping[str, Dryer],
    wanted: Sequence[tuple[str, Units]],
) -> Iterator[Hours]:
    """Yield for each house with some units the progress of drying in it."""
    now_hour = inputs.timeline.tick_before(inputs.now) // TICKS_PER_HOUR
    hours = inputs.timeline.horizon // TICKS_PER_HOUR
    emptied = frozenset(range(0, hours, EMPTIED_EVERY_HOURS))
    houses, standing = [], []
    for key, units in wanted:
        house = _as_one_of_its_own(inputs.houses[key], units)
        name = str(house.public_id)
        houses.append(house)
        standing += [replace(there, house=name) for there in inputs.standing if there.house == key]
        standing += [Standing(rows[unit], name, 1, now_hour, hours, emptied) for unit in units]
    airs = house_airs(
        [_wanted(inputs, key, house) for (key, _), house in zip(wanted, houses, strict=True)],
        inputs.timeline,
        now_hour=now_hour,
        standing=standing,
    )
    cautious = CautiousAir(inputs.timeline, inputs.now)
    for (key, _), air in zip(wanted, airs, strict=True):
        yield _planned_with(company, cautious, inputs, key, air).progress


def _as_one_of_its_own(house: House, units: Units) -> House:
    """Return a house to be told from the same one with other units; it is never saved."""
    other = copy(house)
    other.public_id = uuid5(house.public_id, "+".join(units))
    return other


def _wanted(inputs: PlanInputs, key: str, house: House) -> WantedAir:
    stored = StoredAir(inputs.sources[key], inputs.timeline, inputs.now, inputs.recent)
    weather = stored.weather()
    assert weather is not None  # a house without any has no air in the inputs
    return WantedAir(house, stored, weather, inputs.airs[key].laid)


def _planned_with(
    company: Company, cautious: CautiousAir, inputs: PlanInputs, key: str, air: HouseAir
) -> HouseAir:
    if company.planned_air == Company.PlannedAir.EIGHT_IN_TEN:
        return cautious.of(inputs.houses[key], inputs.sources[key], air)
    return air
