"""Visits that could not stay where they were published, as the JSON that a run keeps."""

from typing import Any

from scheduling.services.plan_inputs import PlanInputs
from scheduling.services.spans import span_json
from scheduling.solver.release import Kept

Json = dict[str, Any]


def freed_json(inputs: PlanInputs, kept: Kept) -> list[Json]:
    """Return each visit let go: where and when it was, the rule it would have broken (codes of
    ``solver/verify.py``, and ``around``), the work that would have broken it and the other, and the
    keys of all its tasks."""
    places = {task.id: task.fixed for task in inputs.problem.tasks if task.fixed}
    houses = {task.id: task.house for task in inputs.problem.tasks}
    return [
        {
            "house": inputs.houses[houses[visit.tasks[0]]].name,
            **span_json(inputs, [places[task] for task in visit.tasks]),
            "code": visit.code,
            "work": _work(inputs, visit.task),
            "other": _work(inputs, visit.other),
            "pinned": visit.pinned,
            "tasks": list(visit.tasks),
        }
        for visit in kept.freed
    ]


def _work(inputs: PlanInputs, key: str) -> Json:
    """Return the stage and room of a task, or its odd job; nothing for what is no task."""
    stage, job = inputs.stages.get(key), inputs.odd_jobs.get(key)
    if stage:
        return {"stage": str(stage.stage), "room": stage.room.name}
    return {"stage": "odd_job", "room": job.name} if job else {}
