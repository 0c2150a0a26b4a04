"""Plan and air agree: wet coats dampen the air in which they dry, and so lengthen their own waits.

A problem's waits are those in the air of an earlier plan. After a solve the air is worked out
again with the new plan's coats, and the plan is held against all rules once more. Coats that are
not dry in that air when somebody goes over them get a longer wait, and it is solved again
(``rounds.py``), a few times; after that the plan in hand is shifted right until it holds.
"""

from collections.abc import Callable, Iterable, Mapping
from copy import copy
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

import numpy as np

from finishing.models import Company
from scheduling.services.air_layers import Hours
from scheduling.services.dryer_stays import PlannedStay
from scheduling.services.dryers_in_air import Standing
from scheduling.services.freed import freed_json
from scheduling.services.inputs import build_inputs
from scheduling.services.plan_inputs import AS_IT_IS, PlanInputs, WetHouses, WhatIf
from scheduling.services.reported import stage_key_of
from scheduling.solver.change import Current
from scheduling.solver.compiled import compile_problem
from scheduling.solver.construct import construct, outcome_of
from scheduling.solver.evaluate import score_of
from scheduling.solver.fewest import first_fewest
from scheduling.solver.homes import homes_of
from scheduling.solver.outcome import Outcome, Status, Violation
from scheduling.solver.problem import Placement, Problem
from scheduling.solver.release import broken_rules, keep_what_holds

SHIFTS = 20
SLOWER_STILL = 0.97
"""In each shift a coat found wet is taken to dry more slowly by this, so that waits grow until
the plan holds."""


class UnsettledError(RuntimeError):
    """No plan was found that holds in the air of its own coats; nothing is stored."""


@dataclass(frozen=True)
class Agreed:
    """A plan, and the inputs in whose air, that of its own coats, it keeps every rule."""

    inputs: PlanInputs
    outcome: Outcome


class Settling:
    """One run's search for a plan that agrees with its air.

    inputs: of the last round, whose problem keeps of the published work what holds. freed: what it
    does not, as ``freed_json`` has it. should_stop: whether somebody waits for the run to end.
    """

    def __init__(
        self,
        company: Company,
        now: datetime,
        what_if: WhatIf = AS_IT_IS,
        standing: tuple[Standing, ...] = (),
        should_stop: Callable[[], bool] = lambda: False,
    ) -> None:
        self._company, self._now = company, now
        self.should_stop = should_stop
        self._what_if, self._standing = what_if, standing
        self._slower: dict[str, Hours] = {}
        self._stays: tuple[PlannedStay, ...] | None = None
        self.rounds = 0
        self.inputs = self._built(None)
        if not self.inputs.published:
            self._stays = ()  # a plan made afresh begins without those of an earlier one
            self.inputs = self._built(None) if self.inputs.stays.all else self.inputs
        if not self.inputs.ends:
            first = construct(keep_what_holds(self.inputs.problem, self.inputs.pinned).problem)
            self.inputs = self._built(first.placements)
        self._keep()

    def agreed(self, outcome: Outcome) -> Agreed | None:
        """Return a plan of the problem in the air of its own coats; None where it does not hold
        there, and then the coats found wet dry more slowly in the next problem."""
        own = self._built(outcome.placements, with_slower=False)
        own.problem = _fixed_as_in(self.inputs.problem, own.problem)
        plan = _judged_in(own.problem, self.inputs.problem, outcome)
        broken = broken_rules(own.problem, plan)
        if not broken:
            return Agreed(own, plan)
        for coat, house in found_wet(own, broken):
            used, there = (row.airs[house].progress_for(coat) for row in (self.inputs, own))
            self._slower[coat] = _slower_of(used, there)
        return None

    def stand(self, stays: tuple[PlannedStay, ...], outcome: Outcome) -> None:
        """Go on from a plan in which dryers stand so; what was found wet without them is over."""
        self._stays, self._slower = stays, {}
        self.next_round(outcome)

    def next_round(self, outcome: Outcome) -> None:
        """Make the problem anew: in the air of a plan, with what has been found wet so far."""
        self.inputs = self._built(outcome.placements)
        self._keep()

    def beside(self) -> "Settling":
        """Return the search as it stands, to try something that leaves this one alone."""
        other = copy(self)
        other._slower = dict(self._slower)
        return other

    def learn_from(self, other: "Settling") -> None:
        """Let coats dry as slowly as another search has found them to."""
        for coat, rate in other._slower.items():
            known = self._slower.get(coat)
            self._slower[coat] = rate if known is None else _slower_of(known, rate)

    def freed_beside(self, freed: Iterable[dict[str, Any]]) -> None:
        """Name what could not stay in a plan that was shifted beside this search, too."""
        self.freed += [visit for visit in freed if visit not in self.freed]

    def shifted(self, outcome: Outcome, *, most: int = SHIFTS) -> Agreed:
        """Return the plan with as little moved as makes it hold; raise UnsettledError after
        ``most`` shifts.

        Where the run is to stop, each shift is half of all that are left, and of all coats.
        """
        left = most
        while left:
            steps = 1
            if self.should_stop():
                steps = -(-left // 2)
                self._slower = _all_as_found(self.inputs) | self._slower
            left -= steps
            slower = SLOWER_STILL**steps
            self._slower = {coat: rate * slower for coat, rate in self._slower.items()}
            self.next_round(outcome)
            homes = homes_of(compile_problem(self.inputs.problem), Current(outcome.placements))
            outcome = outcome_of(first_fewest(homes))
            if agreed := self.agreed(outcome):
                return agreed
        raise UnsettledError(
            f"plan and air did not agree after {most} shifts: {len(self._slower)} coats are "
            "found wet in the air that they make"
        )

    def _keep(self) -> None:
        kept = keep_what_holds(self.inputs.problem, self.inputs.pinned)
        self.freed = freed_json(self.inputs, kept)
        self.inputs.problem = kept.problem
        self.rounds += 1

    def _built(
        self, placements: tuple[Placement, ...] | None, *, with_slower: bool = True
    ) -> PlanInputs:
        ends = None
        if placements is not None:
            instant = self.inputs.timeline.instant
            ends = {place.task: instant(place.end) for place in placements}
        slower: Mapping[str, Hours] = self._slower if with_slower else {}
        wet = WetHouses(ends, slower, self._stays, self._standing)
        built = build_inputs(company=self._company, now=self._now, what_if=self._what_if, wet=wet)
        if placements is not None:
            _refuse_changed(self.inputs.problem, built.problem)
        return built


def _refuse_changed(solved: Problem, now: Problem) -> None:
    """Raise UnsettledError where work has come or gone since: a plan is of the work it was made
    for, and rows are read anew in each round."""
    before, after = ({task.id for task in problem.tasks} for problem in (solved, now))
    if changed := sorted(before ^ after):
        raise UnsettledError(
            f"work was reported or changed while the plan was made ({len(changed)} tasks, the "
            f"first is {changed[0]}): replan"
        )


def _fixed_as_in(solved: Problem, own: Problem) -> Problem:
    """Return a problem with what stays as it did in the one solved: visits may have been let go."""
    fixed = {task.id: task.fixed for task in solved.tasks}
    return replace(own, tasks=tuple(replace(task, fixed=fixed.get(task.id)) for task in own.tasks))


def _judged_in(own: Problem, solved: Problem, outcome: Outcome) -> Outcome:
    """Return the plan scored in its own air; what was proved of another problem is no proof."""
    if own == solved:
        return outcome
    status = Status.FEASIBLE if outcome.status is Status.OPTIMAL else outcome.status
    score = score_of(own, outcome.placements)
    return replace(outcome, status=status, score=score, bound=0, least_change=False)


def found_wet(own: PlanInputs, broken: list[Violation]) -> list[tuple[str, str]]:
    """Return the coats (stage keys) that dry too late in a plan's own air, with their houses."""
    houses = {task.id: task.house for task in own.problem.tasks}
    found = []
    for fault in broken:
        house = houses.get(fault.task, "")
        if fault.code in ("wait", "dust_beside_wet"):
            found.append((stage_key_of(fault.other), house))
        elif fault.code == "start":
            found.append((stage_key_of(fault.task), house))
        elif fault.code == "release":
            found.extend((coat, house) for coat in _done_coats(own, house, fault.task))
        else:
            raise UnsettledError(f"the plan breaks a rule that has to do with no air: {fault}")
    return found


def _done_coats(own: PlanInputs, house: str, task: str) -> set[str]:
    """Return the coats (stage keys) of a house that are done, the one that a task waits for among
    them: that may lie under one that an area was entered at, and its water counts no more."""
    done = {stage_key_of(coat.key) for coat in own.airs[house].laid if not coat.part}
    over = own.done_waits.get(task)
    return done | {over.before} if over else done


def _all_as_found(inputs: PlanInputs) -> dict[str, Hours]:
    """Return by coat (stage key) the progress of the air that its waits go by."""
    coats = ((stage_key_of(coat.key), air) for air in inputs.airs.values() for coat in air.laid)
    return {key: air.progress_for(key) for key, air in coats}


def _slower_of(used: Hours, there: Hours) -> Hours:
    """Return the progress that dries in no hour more than either of two."""
    return np.concatenate(([0.0], np.cumsum(np.minimum(np.diff(used), np.diff(there)))))
