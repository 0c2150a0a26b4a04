"""Problems, outcomes and limits as plain data that JSON can hold, and back.

Spans are [start, end], windows [start, end, day, heads, lacks], waits [before, after, curve,
reason], travel [from, to, ticks], placements [task, crew, start, end], curves
[ends, lags, floors]. Fields of tasks and problems at their default are left out.
"""

from collections.abc import Iterable, Mapping
from dataclasses import MISSING, fields
from typing import Any

from scheduling.solver.outcome import (
    Improvement,
    Limits,
    Outcome,
    Score,
    Status,
    Unplaced,
)
from scheduling.solver.problem import (
    Crew,
    Handover,
    House,
    Placement,
    Problem,
    ReadyCurve,
    Span,
    Task,
    Wait,
    Window,
)

Json = dict[str, Any]


def problem_to_json(problem: Problem) -> Json:
    """Return a Problem as JSON-ready data."""
    return {
        "origin": problem.origin,
        "horizon": problem.horizon,
        "now": problem.now,
        "setup_ticks": problem.setup_ticks,
        "washup_ticks": problem.washup_ticks,
        "worthwhile_ticks": problem.worthwhile_ticks,
        "crews": [
            {
                "id": crew.id,
                "skills": sorted(crew.skills),
                "windows": [
                    [w.start, w.end, w.day, w.heads, sorted(w.lacks)] for w in crew.windows
                ],
            }
            for crew in problem.crews
        ],
        "houses": [{"id": h.id, "access": _spans_to_json(h.access)} for h in problem.houses],
        "tasks": [_task_to_json(task) for task in problem.tasks],
        "handovers": [[h.id, h.house, h.due, h.weight] for h in problem.handovers],
        "waits": [[w.before, w.after, w.curve, w.reason] for w in problem.waits],
        "curves": {
            name: [list(c.ends), list(c.lags), list(c.floors)] for name, c in problem.curves.items()
        },
        "travel": [[here, there, ticks] for (here, there), ticks in problem.travel.items()],
    }


def problem_from_json(data: Mapping[str, Any]) -> Problem:
    """Return the Problem that problem_to_json gave."""
    return Problem(
        origin=data["origin"],
        horizon=data["horizon"],
        now=data["now"],
        setup_ticks=data["setup_ticks"],
        washup_ticks=data["washup_ticks"],
        worthwhile_ticks=data["worthwhile_ticks"],
        crews=tuple(
            Crew(
                crew["id"],
                tuple(_window_from_json(*window) for window in crew["windows"]),
                frozenset(crew["skills"]),
            )
            for crew in data["crews"]
        ),
        houses=tuple(House(h["id"], _spans_from_json(h["access"])) for h in data["houses"]),
        tasks=tuple(_task_from_json(task) for task in data["tasks"]),
        handovers=tuple(Handover(*handover) for handover in data["handovers"]),
        waits=tuple(Wait(*wait) for wait in data["waits"]),
        curves={name: ReadyCurve(*map(tuple, c)) for name, c in data["curves"].items()},
        travel={(here, there): ticks for here, there, ticks in data["travel"]},
    )


def outcome_to_json(outcome: Outcome) -> Json:
    """Return an Outcome as JSON-ready data."""
    return {
        "status": outcome.status.value,
        "placements": [_placement_to_json(placement) for placement in outcome.placements],
        "score": list(outcome.score),
        "unplaced": [[item.task, item.code, item.other] for item in outcome.unplaced],
        "bound": outcome.bound,
        "history": [[step.seconds, list(step.score), step.by] for step in outcome.history],
    }


def outcome_from_json(data: Mapping[str, Any]) -> Outcome:
    """Return the Outcome that outcome_to_json gave."""
    return Outcome(
        status=Status(data["status"]),
        placements=tuple(Placement(*placement) for placement in data["placements"]),
        score=Score(*data["score"]),
        unplaced=tuple(Unplaced(*item) for item in data["unplaced"]),
        bound=data["bound"],
        history=tuple(
            Improvement(seconds, Score(*score), by) for seconds, score, by in data["history"]
        ),
    )


def limits_to_json(limits: Limits) -> Json:
    """Return Limits as JSON-ready data."""
    return {field.name: getattr(limits, field.name) for field in fields(Limits)}


def limits_from_json(data: Mapping[str, Any]) -> Limits:
    """Return the Limits that limits_to_json gave; what is absent is at its default."""
    return Limits(**data)


def _task_to_json(task: Task) -> Json:
    values: Json = {
        field.name: getattr(task, field.name)
        for field in fields(Task)
        if field.default is MISSING or getattr(task, field.name) != field.default
    }
    for name, value in values.items():
        if name == "skills":
            values[name] = sorted(value)
        elif name == "crews":
            values[name] = list(value)
        elif name in {"starts", "open"}:
            values[name] = _spans_to_json(value)
        elif name == "fixed":
            values[name] = _placement_to_json(value)
    return values


def _task_from_json(data: Mapping[str, Any]) -> Task:
    values = dict(data)
    for name, value in data.items():
        if name == "skills":
            values[name] = frozenset(value)
        elif name == "crews":
            values[name] = tuple(value)
        elif name in {"starts", "open"}:
            values[name] = _spans_from_json(value)
        elif name == "fixed":
            values[name] = Placement(*value)
    return Task(**values)


def _window_from_json(start: int, end: int, day: int, heads: int, lacks: list[str]) -> Window:
    return Window(start, end, day, heads, frozenset(lacks))


def _placement_to_json(place: Placement) -> list[str | int]:
    return [place.task, place.crew, place.start, place.end]


def _spans_to_json(spans: Iterable[Span] | None) -> list[list[int]] | None:
    return None if spans is None else [[span.start, span.end] for span in spans]


def _spans_from_json(spans: Iterable[Iterable[int]] | None) -> tuple[Span, ...] | None:
    return None if spans is None else tuple(Span(*span) for span in spans)
