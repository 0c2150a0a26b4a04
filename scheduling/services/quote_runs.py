"""A run that works a quote out, beside all that is planned and published."""

from django.db import transaction
from django.utils import timezone

from finishing.models import Quote
from scheduling.models import PlanRun
from scheduling.services.engine import Solved, solve
from scheduling.services.quote_found import found_of
from scheduling.services.quotes import AskedHouse, asked_house, keep_found
from scheduling.services.run_record import finish, note_progress
from scheduling.services.run_steps import begin_step
from scheduling.services.stop import stop_requested
from scheduling.solver.outcome import Limits

QUOTE_SECONDS = 6.0
"""One house among others that stay: its first plan is nearly as good as any."""


def work_quote_out(run: PlanRun, quote: Quote) -> None:
    """Find out what a quote comes to and keep that with it, in the place of what was found before.

    Raises NotWorkedOutError (``quotes.py``) where it can be no house or was changed meanwhile, and
    GivenUpError where the run is another's by now: then what was found before stays.
    """
    asked = asked_house(quote, now=run.plan_from)
    solved = _searched(run, asked)
    begin_step(run, "odds")
    found = found_of(asked, solved.outcome, now=run.plan_from)
    with transaction.atomic():
        keep_found(quote=quote, found=found, now=timezone.now())
        PlanRun.all_kinds.filter(quote=quote, pk__lt=run.pk).delete()
        finish(run, solved.note)


def _searched(run: PlanRun, asked: AskedHouse) -> Solved:
    """Return the best plan found with all else in its place: one worker is enough for a house."""
    begin_step(run, "search", run.seconds)
    return solve(
        asked.problem,
        Limits(seconds=run.seconds, work=run.work, seed=run.seed, workers=1),
        on_better=lambda better: note_progress(run, better),
        should_stop=lambda: stop_requested(run),
    )
