"""Planning from a page: ask for a plan, watch it being made, accept what it proposes."""

from uuid import UUID
from zoneinfo import ZoneInfo

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_POST, require_safe

from api.access import company_view, may_plan
from api.web.awaited import awaited
from api.web.planning import changed_lines, planning_page
from api.web.runs import run_page
from finishing.models import Company
from finishing.queries.companies import can_plan
from scheduling.change_wording import refusal_sentence
from scheduling.jobs import look_after_runs, request_replan
from scheduling.models import PlanRun
from scheduling.queries.plans import plan_of
from scheduling.queries.runs import run_of
from scheduling.services.proposals import ProposalError, accept_proposal
from scheduling.services.stop import stop_run


@require_safe
@company_view()
def planning(request: HttpRequest, company: Company) -> HttpResponse:
    """Show where planning stands, and the last runs."""
    look_after_runs(now=timezone.now())
    page = planning_page(company, now=timezone.now())
    adopted = request.GET.get("adopted") == "yes"
    context = {"company": company, "page": page, "adopted": adopted}
    return render(request, "web/planning.html", context)


@require_safe
@company_view()
@awaited(gettext_lazy("Changed since crews were told"))
def changed(request: HttpRequest, company: Company) -> HttpResponse:
    """Show what a plan would have to follow since crews were told."""
    lines = changed_lines(company, now=timezone.now())
    return render(request, "web/changed.html", {"company": company, "lines": lines})


@require_POST
@company_view()
def plan_again(request: HttpRequest, company: Company) -> HttpResponse:  # noqa: ARG001
    """Have the company's houses planned from now on, and lead to the run that does it."""
    if not can_plan(company):
        return redirect("web:planning")
    run = request_replan(company=company, now=timezone.now())
    return redirect("web:run", run.public_id)


@require_safe
@company_view()
def run(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:
    """Show how a run stands, and once it is done what it proposes."""
    look_after_runs(now=timezone.now())
    return _run_page(request, company, run_of(company, public_id))


@require_POST
@company_view()
def stop(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:  # noqa: ARG001
    """End a run with the best plan it has found so far."""
    run = run_of(company, public_id)
    stop_run(run=run)
    return redirect("web:run", run.public_id)


@require_POST
@company_view()
def accept(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:
    """Make a proposal the working plan, or say on its run's page why it cannot be any more."""
    plan = plan_of(company, public_id)
    if plan.run is None:
        raise Http404("No run has made this plan.")
    try:
        accept_proposal(company=company, plan=plan, now=timezone.now())
    except ProposalError as error:
        refusal = refusal_sentence(error.code, error.values, ZoneInfo(company.zone))
        return _run_page(request, company, run_of(company, plan.run.public_id), refusal)
    return redirect("web:run", plan.run.public_id)


def _run_page(
    request: HttpRequest, company: Company, run: PlanRun, refusal: str = ""
) -> HttpResponse:
    page = run_page(run, with_costs=may_plan(request), now=timezone.now())
    context = {"company": company, "page": page, "refusal": refusal}
    return render(request, "web/run.html", context, status=409 if refusal else 200)
