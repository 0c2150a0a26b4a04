"""Which visits of the working plan cannot stay where they are once one of them is pinned."""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from scheduling.models import PlannedTask
from scheduling.queries.visits import Block
from scheduling.services.pin_ground import PinGround, bare_task, with_rows
from scheduling.services.pin_rules import telling_first
from scheduling.services.still_holds import among_placed
from scheduling.solver.outcome import Violation
from scheduling.solver.problem import Placement, Problem
from scheduling.solver.verify import verify


@dataclass(frozen=True)
class GivesWay:
    """A visit that cannot stay, and the rule that it would break (``solver/verify.py``). is_told:
    whether crews have been told of it."""

    block: Block
    code: str
    is_told: bool


def gives_way(
    ground: PinGround, blocks: Sequence[Block], places: Sequence[Placement]
) -> list[GivesWay]:
    """Return the visits to come that break a rule with the work at these places, and do not break
    it where the work is now, in order of time.

    blocks: of the working plan, to come. What these visits push aside in turn is not followed:
    that is for the next plan to say.
    """
    moved = {place.task: place for place in places}
    house, crew = _house(ground, places), places[0].crew
    rows = {row.key: row for row in _that_could(blocks, house, crew)}
    problem = _with_the_crews_work(ground, rows, house)
    before = {task.id: _place(ground, task.id, rows) for task in problem.tasks if task.id in rows}
    known = set(_broken(problem, before))
    codes: dict[str, str] = {}
    after = {**before, **moved}
    for fault in telling_first(_broken(problem, after)):
        if fault not in known:
            for key in _named(problem, fault, after.keys()) - moved.keys():
                codes.setdefault(key, fault.code)
    told = ground.inputs.published
    found = ((block, [t.key for t in block.tasks if t.key in codes]) for block in blocks)
    return [
        GivesWay(block, codes[keys[0]], any(t.key in told for t in block.tasks))
        for block, keys in found
        if keys
    ]


def _house(ground: PinGround, places: Sequence[Placement]) -> str:
    return next(task.house for task in ground.problem.tasks if task.id == places[0].task)


def _that_could(blocks: Iterable[Block], house: str, crew: str) -> Iterator[PlannedTask]:
    """Yield the planned tasks at the house, and those of the crew anywhere."""
    for block in blocks:
        if str(block.house.public_id) == house or str(block.crew.public_id) == crew:
            yield from block.tasks


def _with_the_crews_work(ground: PinGround, rows: Mapping[str, PlannedTask], house: str) -> Problem:
    known = {task.id for task in ground.problem.tasks}
    away = {
        key: row
        for key, row in rows.items()
        if key not in known and str(row.house.public_id) != house
    }
    return with_rows(ground.inputs, ground.problem, away, map(bare_task, away.values()))


def _place(ground: PinGround, key: str, rows: Mapping[str, PlannedTask]) -> Placement:
    """Return where a planned task is, or goes on once it has begun."""
    row, inputs = rows[key], ground.inputs
    begun = inputs.work.fixed.get(key)
    if begun and begun.start < ground.problem.now:
        return begun
    tick = inputs.timeline.tick_after
    return Placement(key, str(row.crew.public_id), tick(row.starts_at), tick(row.ends_at))


def _broken(problem: Problem, places: Mapping[str, Placement]) -> list[Violation]:
    return verify(*among_placed(problem, places))


def _named(problem: Problem, fault: Violation, placed: Collection[str]) -> set[str]:
    """Return the tasks that a broken rule is about; of a run in two crews' hands, all of it."""
    if fault.code != "run_crew":
        return {fault.task, fault.other}.intersection(placed)
    runs = {task.run for task in problem.tasks if task.id == fault.task}
    return {task.id for task in problem.tasks if task.run in runs}.intersection(placed)
