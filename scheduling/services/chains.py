"""The chain of reasons behind a late promise, as a plan stores it: codes and values."""

from collections.abc import Mapping
from typing import Any

from scheduling.services.plan_inputs import PlanInputs
from scheduling.services.why import house_of, room_of, why_json
from scheduling.solver.chain import Chain, Link
from scheduling.solver.problem import Placement
from scheduling.solver.reason import Reason


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
        why = why_json(inputs, placed, last, Reason("dries", chain.done))
        links.insert(0, {**_named(inputs, placed, last), "why": why, "behind": {}})
    return links


def _link(inputs: PlanInputs, placed: Mapping[str, Placement], link: Link) -> dict[str, Any]:
    return {
        **_named(inputs, placed, link.task),
        "why": why_json(inputs, placed, link.task, link.reason),
        "behind": why_json(inputs, placed, link.task, link.behind),
    }


def _named(inputs: PlanInputs, placed: Mapping[str, Placement], task: str) -> dict[str, Any]:
    place = placed[task]
    return {
        "task": task,
        "house": house_of(inputs, task),
        "room": room_of(inputs, task),
        "crew": inputs.crew(place.crew).name,
        "starts_at": inputs.timeline.instant(place.start).isoformat(),
        "ends_at": inputs.timeline.instant(place.end).isoformat(),
    }
