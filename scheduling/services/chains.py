"""The chain of reasons behind a late promise, as a plan stores it: codes and values."""

from collections.abc import Mapping
from typing import Any

from scheduling.services.inputs import PlanInputs
from scheduling.services.task_details import why_json
from scheduling.solver.chain import Chain, Link
from scheduling.solver.explain import Reason
from scheduling.solver.problem import Placement


def chain_json(
    inputs: PlanInputs, placed: Mapping[str, Placement], chain: Chain | None
) -> list[dict[str, Any]]:
    """Return the links of a chain, the last task first; none where there is no chain.

    A first link of the code ``dries`` stands for the time between the end of the last task and
    its being dry or set, where there is any.
    """
    if chain is None:
        return []
    last = chain.links[0].task
    told = [
        link
        for number, link in enumerate(chain.links)
        if number == 0 or link.reason.code != "run" or link.behind
    ]
    links = [_link(inputs, placed, link) for link in told]
    if chain.done > chain.ended:
        why = why_json(inputs, Reason("dries", chain.done))
        links.insert(0, {**_named(inputs, placed, last), "why": why, "behind": {}})
    return links


def _link(inputs: PlanInputs, placed: Mapping[str, Placement], link: Link) -> dict[str, Any]:
    named = _named(inputs, placed, link.task)
    why = why_json(inputs, link.reason)
    behind = why_json(inputs, link.behind)
    return {
        **named,
        "why": _named_other(inputs, why, named["house"]),
        "behind": _named_other(inputs, behind, named["house"]),
    }


def _named(inputs: PlanInputs, placed: Mapping[str, Placement], task: str) -> dict[str, Any]:
    place = placed[task]
    crew = inputs.crews.get(place.crew)
    return {
        "task": task,
        "house": _house(inputs, task),
        "room": _room(inputs, task),
        "crew": crew.name if crew else "",
        "starts_at": inputs.timeline.instant(place.start).isoformat(),
        "ends_at": inputs.timeline.instant(place.end).isoformat(),
    }


def _named_other(inputs: PlanInputs, why: dict[str, Any], at_house: str) -> dict[str, Any]:
    """Add the other task's room, and its house where it is another."""
    other = why.get("other")
    if not other:
        return why
    house = _house(inputs, other)
    return {**why, "room": _room(inputs, other), "house": "" if house == at_house else house}


def _room(inputs: PlanInputs, task: str) -> str:
    stage = inputs.stages.get(task)
    return stage.room.name if stage else inputs.odd_jobs[task].name


def _house(inputs: PlanInputs, task: str) -> str:
    stage = inputs.stages.get(task)
    return stage.room.area.house.name if stage else inputs.odd_jobs[task].house.name
