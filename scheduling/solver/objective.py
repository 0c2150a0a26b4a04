"""What the CP-SAT model minimises: lateness and extra windows, then the finishing ticks.

Visits and idle time are left to the exact score, which judges whatever comes out.
"""

from ortools.sat.python import cp_model

from scheduling.solver.constraints import follow
from scheduling.solver.draft import NOWHERE
from scheduling.solver.problem import TICK_MINUTES
from scheduling.solver.tally import finish_of, score_of_draft
from scheduling.solver.variables import Variables, extra_now


def minimise_cost(variables: Variables) -> None:
    """Minimise lateness and the price of extra windows, nothing else: the quickest to prove."""
    variables.model.minimize(_lateness(variables, _finishes(variables)) + _extra(variables))


def minimise_cost_then_finish(variables: Variables) -> None:
    """Minimise the cost and, where that is equal, the sum of the finishing ticks."""
    finishes = _finishes(variables)
    if variables.compiled.problem.handovers:
        ends = list(finishes.values())
    else:
        ends = [slot.end for slot in variables.slots.values()]
    most = _highest(variables) * len(ends) + 1
    cost = _lateness(variables, finishes) + _extra(variables)
    variables.model.minimize(most * cost + cp_model.LinearExpr.sum(ends))


def _extra(variables: Variables) -> cp_model.LinearExpr:
    """Return the price of the windows worked in; held tasks cost what they do."""
    draft, slots = variables.draft, variables.slots
    held = score_of_draft(draft).extra - sum(extra_now(draft, task) for task in slots)
    chosen = [
        option.extra * option.chosen
        for slot in slots.values()
        for option in slot.options
        if option.extra
    ]
    return cp_model.LinearExpr.sum([held, *chosen])


def _lateness(variables: Variables, finishes: dict[int, cp_model.IntVar]) -> cp_model.LinearExpr:
    """Return the weighted minutes of lateness; handovers without free tasks are as they are."""
    late: list[cp_model.LinearExprT] = [0]
    for number, handover in enumerate(variables.compiled.problem.handovers):
        minutes = handover.weight * TICK_MINUTES
        now = max(0, (finish_of(variables.draft, number) or 0) - handover.due)
        if number in finishes:
            over = variables.integer(0, max(now, _highest(variables) - handover.due), now)
            variables.model.add(over >= finishes[number] - handover.due)
            late.append(minutes * over)
        else:
            late.append(minutes * now)
    return cp_model.LinearExpr.sum(late)


def _finishes(variables: Variables) -> dict[int, cp_model.IntVar]:
    """Return by handover (index) its finishing tick, for those that free tasks count towards."""
    compiled = variables.compiled
    finishes = {}
    for number, members in enumerate(compiled.members):
        free = [task for task in members if task in variables.slots]
        if not free:
            continue
        now = finish_of(variables.draft, number) or 0
        finish = variables.integer(0, _highest(variables), now)
        for task in free:
            name = compiled.tasks[task].done_curve
            if name:
                follow(variables, task, [compiled.problem.curves[name]], finish)
            else:
                variables.model.add(finish >= variables.slots[task].end)
        for task in set(members) - set(free):
            ready = compiled.done[task]
            placed = variables.draft.crew[task] != NOWHERE
            end = variables.draft.end[task] if placed else compiled.problem.horizon
            variables.model.add(finish >= (ready(end) if ready else end))
        finishes[number] = finish
    return finishes


def _highest(variables: Variables) -> int:
    """Return a tick at which everything is done in any plan."""
    problem = variables.compiled.problem
    fixed = [task.fixed.end for task in problem.tasks if task.fixed]
    last = max([problem.horizon, *fixed])
    names = {task.done_curve for task in problem.tasks if task.done_curve}
    return max([last, *(problem.curves[name].ready(last) for name in names)])
