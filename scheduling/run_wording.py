"""Planning runs in words: how they stand, and why one failed."""

from collections.abc import Sequence
from math import ceil
from zoneinfo import ZoneInfo

from django.utils.functional import Promise
from django.utils.translation import gettext, ngettext
from django.utils.translation import gettext_lazy as _

from scheduling.models import Plan, PlanRun
from scheduling.wording import figure, moment

_FAILURES: dict[str, Promise] = {
    "EngineError": _("the first plan broke a rule of its own, so that none was kept"),
    "OvertakenError": _("a plan was published while this one was made"),
    "GivenUpError": _("it took longer than a run may, and was taken for lost"),
    "NewerRunError": _("another plan was asked for meanwhile, with what is known by now"),
    "LostRunError": _("whoever made this plan ended before it was there, each time that it began"),
    "StuckRunError": _("it took longer than a run may"),
    "NoHouseError": _(
        "it can be no house as it is: another has its name, or the one that it is like was removed"
    ),
    "QuoteChangedError": _("it was changed or won meanwhile"),
}


def standing_sentence(run: PlanRun) -> str:
    """Say how a run stands, and since when."""
    zone = ZoneInfo(run.company.zone)
    said = {
        PlanRun.Status.QUEUED: gettext("Waiting to begin, asked for %(moment)s"),
        PlanRun.Status.RUNNING: gettext("Planning since %(moment)s"),
        PlanRun.Status.DONE: gettext("Done %(moment)s"),
        PlanRun.Status.FAILED: gettext("Failed %(moment)s"),
    }[PlanRun.Status(run.status)]
    at = run.finished_at or run.claimed_at or run.requested_at
    return said % {"moment": moment(at, zone)}


def failure_sentence(error: str) -> str:
    """Say why a run failed; of a fault that nobody has thought of, that the log has more."""
    code = error.partition(":")[0]
    return str(_FAILURES.get(code) or gettext("of a fault: the log of the server says more"))


def what_next_sentence(error: str) -> str:
    """Say what to do about a quote that was not worked out."""
    if error.partition(":")[0] == "NoHouseError":
        return gettext("Change the quote, then work it out again.")
    if error.partition(":")[0] == "QuoteChangedError":
        return gettext("Work it out again.")
    return gettext("Work it out again; if that fails too, tell whoever runs the server.")


_STEPS: dict[str, Promise] = {
    "search": _("searching for better plans"),
    "air": _("working out the air in the houses, with the water of the plan's own coats"),
    "odds": _("working out the odds of the handovers"),
    "dryers": _("trying where dryers would help"),
}


def step_sentence(code: str, seconds_left: float) -> str:
    """Say what a run is doing, and the longest that it may search from now on."""
    said = gettext("Now %(step)s; at most %(left)s s of searching left")
    return said % {"step": _STEPS[code], "left": ceil(seconds_left)}


def best_sentence(*, cost: int, bound: int, visits: int, idle_minutes: int, seconds: float) -> str:
    """Say what the best plan so far comes to, and after how long it was found.

    cost, bound: weighted minutes of lateness and of extra hours, and what no plan comes below.
    """
    said = gettext(
        "%(cost)s weighted minutes of lateness and extra hours (none below %(bound)s), "
        "%(visits)s visits, %(idle)s idle minutes, found after %(seconds)s s"
    )
    return said % {
        "cost": cost,
        "bound": bound,
        "visits": visits,
        "idle": idle_minutes,
        "seconds": figure(seconds),
    }


def made_sentence(plans: Sequence[Plan]) -> str:
    """Say what a run made; nothing while it has made nothing."""
    proposals = sum(bool(plan.kind) for plan in plans)
    if proposals:
        return ngettext("%(n)s proposal", "%(n)s proposals", proposals) % {"n": proposals}
    return gettext("a plan to work on") if plans else ""
