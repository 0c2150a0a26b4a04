"""What the solver answers: placements, what could not be placed and why, score and history."""

from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import NamedTuple

from scheduling.solver.problem import Placement


class Score(NamedTuple):
    """How good a plan is; smaller is better, compared from left to right.

    cost: weighted minutes of lateness after the due ticks, plus ``extra``. visits: crew-house-day
    visits, small ones counted twice, and what more crews in a house count as. idle: paid minutes
    without work, set-up, wash-up or travel between a crew's first and last work of a day. finish:
    sum over handovers of the finishing tick (over all tasks' end ticks where there is no
    handover). extra: the price of the extra windows worked in, in weighted minutes of lateness.
    """

    cost: int
    visits: int
    idle: int
    finish: int
    extra: int = 0

    @property
    def lateness(self) -> int:
        """Weighted minutes after the due ticks, and nothing else."""
        return self.cost - self.extra


class Status(StrEnum):
    """How a solve ended."""

    OPTIMAL = "optimal"
    """Proved: no plan costs less (see Score): without extra windows, none is less late."""
    FEASIBLE = "feasible"
    """A plan for every task."""
    PARTIAL = "partial"
    """A plan for the tasks that can be planned; ``unplaced`` names the others and why."""


@dataclass(frozen=True, slots=True)
class Unplaced:
    """A task without a place, with a reason code and its values.

    Codes: ``no_crew`` (no crew has the skills), ``too_long`` (longer than every window of every
    crew that may do it), ``no_open_time`` (release, access, allowed starts and crew windows
    never meet before the horizon), ``no_room`` (they meet, but the time is taken),
    ``after_unplaced`` (waits for ``other``, which is unplaced), ``lag_too_long`` (it and
    ``other`` must follow within a maximum lag, and no such places were found),
    ``impossible_lags`` (it is in a ring of lags and orders that contradict each other),
    ``fixed_clash`` (its fixed place breaks the rule named in ``other``).
    """

    task: str
    code: str
    other: str = ""


@dataclass(frozen=True, slots=True)
class Improvement:
    """One step of a solve's history: at so many seconds this score was reached, by which step."""

    seconds: float
    score: Score
    by: str


@dataclass(frozen=True, slots=True)
class Outcome:
    """The result of one solve. ``bound``: no plan's cost is below it. ``least_change``: proved
    that no plan with as many tasks changes less; only proposals say so."""

    status: Status
    placements: tuple[Placement, ...]
    score: Score
    unplaced: tuple[Unplaced, ...] = ()
    bound: int = 0
    history: tuple[Improvement, ...] = field(default=())
    least_change: bool = False


@dataclass(frozen=True, slots=True)
class Limits:
    """How long to work. With ``work`` (rounds of improvement, one worker) the same problem and
    seed give the same plan whatever the machine; ``seconds`` promises only a verified plan."""

    seconds: float | None = 10.0
    work: int | None = None
    workers: int = 2
    seed: int = 1

    def share(self, share: float) -> "Limits":
        """Return a share of the limits."""
        seconds = None if self.seconds is None else self.seconds * share
        work = None if self.work is None else max(1, round(self.work * share))
        return replace(self, seconds=seconds, work=work)


@dataclass(frozen=True, slots=True)
class Violation:
    """A rule that a plan breaks, found by ``verify``: the rule's code, the task and the other."""

    code: str
    task: str = ""
    other: str = ""
