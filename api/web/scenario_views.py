"""Scenarios: made, changed, planned, copied, discarded, made the working plan."""

from contextlib import suppress
from uuid import UUID
from zoneinfo import ZoneInfo

from django import forms
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from api.access import company_view, may_plan
from api.web.change_forms import FORMS, NameForm, nothing_to_offer
from api.web.form_group import shown_faults
from api.web.house_edits import changed_meanwhile, typed_version, who_edits
from api.web.scenario_page import scenario_page
from api.web.scenarios import scenarios_page
from finishing.models import Company
from finishing.queries.companies import can_plan
from finishing.queries.rights import Right
from finishing.services.errors import InputFaults
from finishing.services.rows import StaleRowsError
from scheduling.jobs import look_after_runs, request_scenario_run
from scheduling.models import Scenario
from scheduling.queries.plans import working_plan
from scheduling.queries.scenarios import scenario_of, scenario_runs
from scheduling.scenario_wording import kind_name, refusal_sentence
from scheduling.services.adopt_scenario import AdoptError, adopt_scenario
from scheduling.services.scenario_changes import changes_of
from scheduling.services.scenarios import (
    copy_scenario,
    discard_scenario,
    edit_scenario,
    make_scenario,
)
from scheduling.services.stop import stop_run


@require_http_methods(["GET", "HEAD", "POST"])
@company_view()
def scenarios(request: HttpRequest, company: Company) -> HttpResponse:
    """Show all scenarios with their plans side by side; make one."""
    form = NameForm(request.POST if request.method == "POST" else None)
    if form.is_bound and form.is_valid():
        name, now = form.cleaned_data["name"], timezone.now()
        try:
            made = make_scenario(company=company, name=name, now=now)
        except InputFaults as error:
            _add(form, error)
        else:
            return redirect("web:scenario", made.public_id)
    look_after_runs(now=timezone.now())
    page = scenarios_page(company, now=timezone.now(), with_costs=may_plan(request))
    context = {"company": company, "page": page, "form": form, "faults": shown_faults([form])}
    status = 422 if form.is_bound else 200
    return render(request, "web/scenarios.html", context, status=status)


@require_POST
@company_view()
def plan_all(request: HttpRequest, company: Company) -> HttpResponse:  # noqa: ARG001
    """Plan all scenarios for which nothing is planned yet, or that have changed since."""
    now = timezone.now()
    for line in scenarios_page(company, now=now, with_costs=False).lines:
        if can_plan(company) and line.is_to_plan:
            # It became the working plan just now, or was discarded.
            with suppress(InputFaults, Scenario.DoesNotExist):
                request_scenario_run(scenario=line.scenario, now=now)
    return redirect("web:scenarios")


@require_http_methods(["GET", "HEAD", "POST"])
@company_view()
def scenario(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:
    """Show one scenario, or give it another name."""
    row = scenario_of(company, public_id)
    posted = request.method == "POST"
    form = NameForm(request.POST if posted else {"name": row.name})
    stale = ""
    if posted and form.is_valid():
        version = typed_version(request.POST.get("version"))
        try:
            edit_scenario(scenario=row, version=version, name=form.cleaned_data["name"])
        except InputFaults as error:
            _add(form, error)
        except StaleRowsError:
            stale = changed_meanwhile()
        else:
            return redirect("web:scenario", public_id)
        row.refresh_from_db()
    return _page(request, row, form, stale, status=422 if posted else 200)


@require_http_methods(["GET", "HEAD", "POST"])
@company_view()
def add_change(request: HttpRequest, company: Company, public_id: UUID, kind: str) -> HttpResponse:
    """Ask for a change of a kind, and add it."""
    if kind not in FORMS:
        raise Http404("There is no such kind of change.")
    row = scenario_of(company, public_id)
    posted = request.method == "POST"
    form = FORMS[kind](company, request.POST if posted else None)
    if posted and form.is_valid():
        version = typed_version(request.POST.get("version"))
        changes = (*changes_of(row.changes), form.change())
        try:
            edit_scenario(scenario=row, version=version, changes=changes)
        except InputFaults as error:
            _add(form, error)
        except StaleRowsError:
            form.add_error(None, changed_meanwhile())
            row.refresh_from_db()
        else:
            return redirect("web:scenario", public_id)
    context = {
        "company": company,
        "scenario": row,
        "kind": kind_name(kind),
        "form": form,
        "faults": shown_faults([form]),
        "nothing": nothing_to_offer(form),
    }
    return render(request, "web/scenario_change.html", context, status=422 if posted else 200)


@require_POST
@company_view()
def leave_out(request: HttpRequest, company: Company, public_id: UUID, number: int) -> HttpResponse:
    """Leave one change out, counted from 0; nothing where somebody has changed them meanwhile."""
    row = scenario_of(company, public_id)
    changes = [change for at, change in enumerate(changes_of(row.changes)) if at != number]
    try:
        version = typed_version(request.POST.get("version"))
        edit_scenario(scenario=row, version=version, changes=changes)
    except (StaleRowsError, InputFaults):
        row.refresh_from_db()
        return _page(request, row, NameForm({"name": row.name}), changed_meanwhile(), status=409)
    return redirect("web:scenario", public_id)


@require_POST
@company_view()
def plan(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:
    """Plan for one scenario, in the background."""
    row = scenario_of(company, public_id)
    if can_plan(company):
        try:
            request_scenario_run(scenario=row, now=timezone.now())
        except InputFaults as error:
            return _page(request, row, NameForm({"name": row.name}), _said(error), status=409)
    return redirect("web:scenario", public_id)


@require_POST
@company_view()
def stop(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:  # noqa: ARG001
    """End a scenario's run with the best plan it has found."""
    row = scenario_of(company, public_id)
    if run := scenario_runs([row]).get(row.pk):
        stop_run(run=run)
    return redirect("web:scenario", public_id)


@require_POST
@company_view()
def copy(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:
    """Make another scenario with the same changes."""
    row = scenario_of(company, public_id)
    try:
        made = copy_scenario(scenario=row, now=timezone.now())
    except InputFaults as error:
        return _page(request, row, NameForm({"name": row.name}), _said(error), status=409)
    return redirect("web:scenario", made.public_id)


@require_http_methods(["GET", "HEAD", "POST"])
@company_view(needs=Right.PLAN)
def discard(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:
    """Ask whether a scenario is to go, and let it go."""
    row = scenario_of(company, public_id)
    stale = False
    if request.method == "POST":
        try:
            discard_scenario(scenario=row, version=typed_version(request.POST.get("version")))
        except StaleRowsError:
            stale = True
            row.refresh_from_db()
        else:
            return redirect("web:scenarios")
    context = {"company": company, "scenario": row, "stale": changed_meanwhile() if stale else ""}
    status = 409 if stale else 200
    return render(request, "web/discard_scenario.html", context, status=status)


@require_POST
@company_view()
def adopt(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:
    """Make the scenario's changes true and its plan the working plan, or say why not."""
    row = scenario_of(company, public_id)
    version, by = typed_version(request.POST.get("version")), who_edits(request)
    zone = ZoneInfo(company.zone)
    try:
        adopt_scenario(scenario=row, version=version, by=by, now=timezone.now())
    except AdoptError as error:
        refusal = refusal_sentence(error.code, error.values, zone)
    except StaleRowsError:
        refusal = refusal_sentence("stale", {}, zone)
    except InputFaults as error:
        refusal = refusal_sentence("refused", {"why": _said(error)}, zone)
    else:
        return redirect(reverse("web:planning") + "?adopted=yes")
    row.refresh_from_db()
    return _page(request, row, NameForm({"name": row.name}), refusal, status=409)


def _page(
    request: HttpRequest, row: Scenario, form: NameForm, refusal: str = "", *, status: int = 200
) -> HttpResponse:
    look_after_runs(now=timezone.now())
    page = scenario_page(row, working_plan(row.company), now=timezone.now())
    context = {
        "company": row.company,
        "page": page,
        "form": form,
        "faults": shown_faults([form]),
        "refusal": refusal,
    }
    return render(request, "web/scenario.html", context, status=status)


def _said(error: InputFaults) -> str:
    return " ".join(fault.text for fault in error.faults)


def _add(form: forms.Form, error: InputFaults) -> None:
    for fault in error.faults:
        name = fault.place.rpartition(", ")[2]
        form.add_error(name if name in form.fields else None, fault.text)
