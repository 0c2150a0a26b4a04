"""Ending a planning run before its time, with the best plan it has found."""

from finishing.models import Company
from scheduling.models import PlanRun
from scheduling.queries.runs import UNFINISHED
from scheduling.services.holding import held


def stop_runs(*, company: Company) -> int:
    """Ask the company's runs that wait or are going to stop; return how many were asked.

    Each then ends soon with a verified plan: the best so far, or the first one, shifted where it
    does not yet hold in the air of its own coats.
    """
    return PlanRun.objects.filter(
        company=company, status__in=UNFINISHED, stop_requested=False
    ).update(stop_requested=True)


def stop_run(*, run: PlanRun) -> bool:
    """Ask one run to stop, as ``stop_runs`` does; return whether it was still to end."""
    rows = PlanRun.all_kinds.filter(pk=run.pk, status__in=UNFINISHED)
    return rows.update(stop_requested=True) == 1


def stop_requested(run: PlanRun) -> bool:
    """Return whether somebody has asked the run to stop since it began, or has it by now."""
    return not held(run).filter(stop_requested=False).exists()
