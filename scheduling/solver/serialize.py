"""Problems, outcomes, limits and current plans as plain data that JSON can hold, and back.

A Problem's objects bear the names of their fields, those at a default left out. Three things are
written as a person would: a Span is [start, end]; a curve that is always one lag is that lag;
travel is a list of {"from", "to", "ticks"}. ``fixtures/instances/problem.schema.json`` documents
every field. An Outcome is for machines: placements are [task, crew, start, end], the way
at the end where there is one.
"""

from collections.abc import Mapping
from dataclasses import fields, replace
from typing import Any

from scheduling.solver.change import Current
from scheduling.solver.outcome import (
    Improvement,
    Limits,
    Outcome,
    Score,
    Status,
    Unplaced,
)
from scheduling.solver.plain import from_plain, to_plain
from scheduling.solver.problem import Placement, Problem, ReadyCurve, constant_lag
from scheduling.solver.stays import Beside, Dryer, Fleet, Stay, Stayed

Json = dict[str, Any]


def problem_to_json(problem: Problem) -> Json:
    """Return a Problem as JSON-ready data."""
    data: Json = to_plain(problem)
    if problem.curves:
        data["curves"] = {name: _curve_to_json(curve) for name, curve in problem.curves.items()}
    if problem.travel:
        data["travel"] = [
            {"from": here, "to": there, "ticks": ticks}
            for (here, there), ticks in problem.travel.items()
        ]
    return data


def problem_from_json(data: Mapping[str, Any]) -> Problem:
    """Return the Problem that problem_to_json gave."""
    curves, travel = data.get("curves", {}), data.get("travel", [])
    named = {name: _curve_from_json(curve) for name, curve in curves.items()}
    ways = {(way["from"], way["to"]): way["ticks"] for way in travel}
    rest = {name: value for name, value in data.items() if name not in {"curves", "travel"}}
    return replace(from_plain(Problem, rest), curves=named, travel=ways)


def outcome_to_json(outcome: Outcome) -> Json:
    """Return an Outcome as JSON-ready data."""
    return {
        "status": outcome.status.value,
        "placements": [_placement_to_json(placement) for placement in outcome.placements],
        "score": list(outcome.score),
        "unplaced": [[item.task, item.code, item.other] for item in outcome.unplaced],
        "bound": outcome.bound,
        "history": [[step.seconds, list(step.score), step.by] for step in outcome.history],
        "least_change": outcome.least_change,
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
        least_change=data["least_change"],
    )


def current_to_json(current: Current) -> Json:
    """Return a Current as JSON-ready data."""
    places = [_placement_to_json(place) for place in current.places]
    return {"places": places, "unseen": sorted(current.unseen)}


def current_from_json(data: Mapping[str, Any]) -> Current:
    """Return the Current that current_to_json gave."""
    places = tuple(Placement(*place) for place in data["places"])
    return Current(places, frozenset(data["unseen"]))


def stayed_to_json(found: Stayed) -> Json:
    """Return a plan with its stays of dryers as JSON-ready data."""
    return {
        "outcome": outcome_to_json(found.outcome),
        "stays": to_plain(found.stays),
        "saved": list(found.saved),
        "without": found.without,
    }


def stayed_from_json(data: Mapping[str, Any]) -> Stayed:
    """Return the Stayed that stayed_to_json gave."""
    return Stayed(
        outcome_from_json(data["outcome"]),
        from_plain(tuple[Stay, ...], data["stays"]),
        tuple(data["saved"]),
        data["without"],
    )


def fleet_to_json(fleet: Fleet) -> Json:
    """Return a Fleet as JSON-ready data."""
    beside = [
        {
            "units": list(one.units),
            "curves": {name: _curve_to_json(curve) for name, curve in one.curves.items()},
        }
        for one in fleet.beside
    ]
    return {"dryers": to_plain(fleet.dryers), "beside": beside}


def fleet_from_json(data: Mapping[str, Any]) -> Fleet:
    """Return the Fleet that fleet_to_json gave."""
    beside = (
        Beside(
            tuple(one["units"]),
            {name: _curve_from_json(curve) for name, curve in one["curves"].items()},
        )
        for one in data["beside"]
    )
    return Fleet(from_plain(tuple[Dryer, ...], data["dryers"]), tuple(beside))


def limits_to_json(limits: Limits) -> Json:
    """Return Limits as JSON-ready data."""
    return {field.name: getattr(limits, field.name) for field in fields(Limits)}


def limits_from_json(data: Mapping[str, Any]) -> Limits:
    """Return the Limits that limits_to_json gave; what is absent is at its default."""
    return Limits(**data)


def _curve_to_json(curve: ReadyCurve) -> int | Json:
    lag = curve.lags[0]
    if curve == constant_lag(lag):
        return lag
    # Most of a Problem's data is the numbers of its curves: not worth a question each.
    return {field.name: list(getattr(curve, field.name)) for field in fields(curve)}


def _curve_from_json(data: int | Mapping[str, Any]) -> ReadyCurve:
    if isinstance(data, int):
        return constant_lag(data)
    return ReadyCurve(**{name: tuple(numbers) for name, numbers in data.items()})


def _placement_to_json(place: Placement) -> list[str | int]:
    way = [place.way] if place.way else []
    return [place.task, place.crew, place.start, place.end, *way]
