"""Published visits that the newest air no longer fits: a coat is wet, or would be too cold."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime

from finishing.models import Company
from scheduling.models import Visit
from scheduling.services.inputs import build_inputs
from scheduling.services.plan_inputs import PlanInputs
from scheduling.services.unfit_air import UnfitAir, unfit_air
from scheduling.services.why import waited_in_air
from scheduling.solver.reason import Reason


@dataclass(frozen=True)
class WetCoat:
    """A coat that is not ready when a crew comes to go over it with ``stage``.

    coat: its stage. reason: what governs when it is ready, a wait's code; air: what air that
    rests on, where it is the air.
    """

    room: str
    stage: str
    coat: str
    ready_at: datetime
    reason: str
    air: str


@dataclass(frozen=True)
class WetVisit:
    """A visit to come with the coats it finds wet, and those it puts into air unfit for them."""

    visit: Visit
    coats: tuple[WetCoat, ...]
    unfit: tuple[UnfitAir, ...] = ()


def wet_visits(*, company: Company, now: datetime) -> list[WetVisit]:
    """Return the published visits to come that arrive before a coat is dry or set, or put one
    into air too cold or too hot for its compound, by start.

    The rules are those a plan made at ``now`` would keep, the waits counted from when the coats
    were published to end or were reported done.
    """
    return wet_visits_by(build_inputs(company=company, now=now), company=company, now=now)


def wet_visits_by(inputs: PlanInputs, *, company: Company, now: datetime) -> list[WetVisit]:
    """Return what ``wet_visits`` does, from the inputs of a company's plan at ``now``."""
    wet: defaultdict[Visit, list[WetCoat]] = defaultdict(list)
    unfit: defaultdict[Visit, list[UnfitAir]] = defaultdict(list)
    for key, (visit, starts_at) in _work_to_come(company, now).items():
        wait = _last_wait(inputs, key)
        if wait and wait.tick > inputs.timeline.tick_after(starts_at):
            wet[visit].append(_coat(inputs, key, wait))
        if air := unfit_air(inputs, key, starts_at):
            unfit[visit].append(air)
    ordered = sorted({*wet, *unfit}, key=lambda visit: (visit.starts_at, visit.pk))
    return [WetVisit(visit, tuple(wet[visit]), tuple(unfit[visit])) for visit in ordered]


def _last_wait(inputs: PlanInputs, task: str) -> Reason | None:
    """Return the wait on a coat that lets go of a task last; None where it waits for none."""
    places, curves = inputs.published, inputs.problem.curves
    waits = [
        Reason(wait.reason, curves[wait.curve].ready(places[wait.before].end), wait.before)
        for wait in inputs.problem.waits
        if wait.after == task and wait.before in places
    ]
    if done := inputs.done_waits.get(task):
        waits.append(Reason(done.reason, done.ready, done.before))
    hardening = [wait for wait in waits if wait.code != "order"]
    return max(hardening, key=lambda wait: (wait.tick, wait.code), default=None)


def _coat(inputs: PlanInputs, task: str, wait: Reason) -> WetCoat:
    return WetCoat(
        room=inputs.stages[task].room.name,
        stage=inputs.stages[task].stage,
        coat=wait.other.split(":")[1],
        ready_at=inputs.timeline.instant(wait.tick),
        reason=wait.code,
        air=waited_in_air(inputs, inputs.published, task, wait),
    )


def _work_to_come(company: Company, now: datetime) -> dict[str, tuple[Visit, datetime]]:
    """Return by key the published work that has not begun: its visit and start; of work given
    twice, the later. A visit that a wet coat keeps off is still in the crew's calendar."""
    visits = Visit.objects.filter(company=company, cancelled_at=None, ends_at__gt=now)
    work = {
        row["key"]: (visit, datetime.fromisoformat(row["starts_at"]))
        for visit in visits.select_related("crew", "house").order_by("starts_at", "id")
        for row in visit.content["tasks"]
    }
    return {key: place for key, place in work.items() if place[1] >= now}
