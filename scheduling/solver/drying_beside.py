"""When coats are dry with one unit beside them or several, where a plan has them."""

from collections.abc import Sequence
from typing import NamedTuple

from scheduling.solver.problem import Placement, Problem
from scheduling.solver.stays import Fleet, Units, curves_by_coat


class Dry(NamedTuple):
    """Ticks at which what a coat leaves is ready: the latest that units have to do with, and the
    sum over all its curves."""

    latest: int
    total: int


class DryingBeside:
    """The coats of a plan, each at the end that it has there.

    several: the groups of more than one unit of which something is known.
    """

    def __init__(self, problem: Problem, fleet: Fleet, placements: Sequence[Placement]) -> None:
        self._plain, self._beside = problem.curves, fleet.by_units()
        self._curves = curves_by_coat(problem)
        self._ends = {place.task: place.end for place in placements}
        self._found: dict[tuple[str, Units], Dry | None] = {}
        self.several = [units for units in self._beside if len(units) > 1]

    def with_units(self, coat: str, units: Units) -> Dry | None:
        """Return when a coat is dry with just these units; None where nothing is known of that."""
        key = coat, units
        if key not in self._found:
            self._found[key] = self._with_units(coat, units)
        return self._found[key]

    def total(self, coat: str, units: Units) -> int:
        """Return the sum of ticks with units that are known, else that without any."""
        dry = self.with_units(coat, units)
        end = self._ends[coat]
        return dry.total if dry else sum(self._plain[c].ready(end) for c in self._curves[coat])

    def _with_units(self, coat: str, units: Units) -> Dry | None:
        known, end = self._beside.get(units, {}), self._ends.get(coat)
        if end is None:
            return None
        ready = {curve: known[curve].ready(end) for curve in self._curves[coat] if curve in known}
        if not ready:
            return None
        plain = (
            self._plain[curve].ready(end) for curve in self._curves[coat] if curve not in known
        )
        return Dry(max(ready.values()), sum(ready.values()) + sum(plain))
