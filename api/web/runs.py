"""The page of a planning run: how it stands, and what it proposes."""

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from zoneinfo import ZoneInfo

from django.utils.translation import gettext, ngettext

from api.web.company_air import can_plan
from finishing.models import Company
from scheduling.change_wording import (
    change_rows,
    freed_sentence,
    handover_change_sentence,
    kind_name,
    least_sentence,
    move_sentence,
    proposals_sentence,
)
from scheduling.models import CompanyPlans, Plan, PlanRun
from scheduling.queries.plans import latest_publication, plans_of_run, proposals_of
from scheduling.queries.runs import UNFINISHED
from scheduling.run_wording import best_sentence, failure_sentence, standing_sentence
from scheduling.services.run_progress import best_so_far
from scheduling.wording import figure, hold_sentence

MINUTES_A_DAY = 24 * 60


@dataclass(frozen=True)
class ProposalCard:
    """A proposal in figures and sentences.

    state: ``open`` to be accepted, ``working`` once it is the plan to work on, ``published`` once
    crews see it, ``over`` when something else has taken its place.
    """

    plan: Plan
    kind: str
    least: str
    figures: list[tuple[str, str]]
    handovers: list[str]
    moves: list[str]
    state: str


@dataclass(frozen=True)
class RunPage:
    """All that the page shows. ``first``: the plan of a run that made no proposals, in figures."""

    this: PlanRun
    standing: str
    over: bool
    best: str
    failure: str
    notes: list[str]
    first: list[tuple[str, str]]
    heading: str
    cards: list[ProposalCard]
    can_plan: bool


def run_page(run: PlanRun) -> RunPage:
    """Return the page of a run as it stands."""
    plans = plans_of_run(run)
    proposals = [plan for plan in plans if plan.kind]
    best, over = best_so_far(run), run.status not in UNFINISHED
    failed = run.status == PlanRun.Status.FAILED
    return RunPage(
        this=run,
        standing=standing_sentence(run),
        over=over,
        best=best_sentence(**asdict(best)) if best and not over else "",
        failure=failure_sentence(run.error) if failed else "",
        notes=list(_notes(run, plans)) if plans else [],
        first=[row for plan in plans if not plan.kind for row in _plan_rows(plan)],
        heading=_heading(proposals),
        cards=_cards(run.company, proposals),
        can_plan=can_plan(run.company),
    )


def _heading(proposals: list[Plan]) -> str:
    if not proposals:
        return ""
    base = proposals[0].base
    return proposals_sentence(len(proposals), base.revision if base else 0)


def _notes(run: PlanRun, plans: list[Plan]) -> Iterable[str]:
    """Yield how the run ended, what could not stay, what could not be planned, what is taken as
    done."""
    if run.error:
        yield run.error
    yield from (freed_sentence(visit) for visit in run.freed)
    yield from (hold_sentence(hold) for hold in plans[0].holds)
    if run.unreported:
        said = ngettext(
            "%(n)s past task counts as done as planned, as nobody has said otherwise",
            "%(n)s past tasks count as done as planned, as nobody has said otherwise",
            run.unreported,
        )
        yield said % {"n": run.unreported}


def _plan_rows(plan: Plan) -> list[tuple[str, str]]:
    late = sum(row["late_minutes"] > 0 for row in plan.handovers)
    return [
        (gettext("late handovers"), str(late)),
        _late_days(plan),
        (gettext("visits"), str(plan.visits)),
        (gettext("idle hours within days"), figure(plan.idle_minutes / 60)),
    ]


def _late_days(plan: Plan) -> tuple[str, str]:
    return gettext("days late, by weight"), figure(plan.lateness_minutes / MINUTES_A_DAY)


def _cards(company: Company, proposals: list[Plan]) -> list[ProposalCard]:
    zone, states = ZoneInfo(company.zone), _States(company)
    return [
        ProposalCard(
            plan=plan,
            kind=kind_name(plan.kind),
            least=least_sentence(plan.change) if number == 0 else "",
            figures=[_late_days(plan), *change_rows(plan.change, plan.idle_minutes)],
            handovers=[
                handover_change_sentence(row, zone)
                for row in plan.change["handovers"]
                if row["before"] != row["after"]
            ],
            moves=[move_sentence(move) for move in plan.change["moves"]],
            state=states.of(plan),
        )
        for number, plan in enumerate(proposals)
    ]


class _States:
    """Tells what has become of a company's proposals."""

    def __init__(self, company: Company) -> None:
        self._plans = CompanyPlans.objects.filter(company=company).first()
        self._newest = latest_publication(company)
        self._proposals = proposals_of(company)

    def of(self, plan: Plan) -> str:
        if self._plans and self._plans.published_id == plan.pk:
            return "published"
        if self._plans and self._plans.working_id == plan.pk:
            return "working"
        stands = self._newest and self._newest.pk == plan.base_id and plan in self._proposals
        return "open" if stands else "over"
