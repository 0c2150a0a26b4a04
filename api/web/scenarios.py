"""The page of all scenarios: what each changes, how far it is, and all plans side by side."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from django.utils.translation import gettext

from api.web.charts import pattern_markup
from api.web.costs_to_come import costs_or_none
from api.web.run_standing import Progress, progress_of
from api.web.scenario_chart import Measure, scenario_chart
from finishing.models import Company
from finishing.queries.companies import can_plan
from scheduling.cost_wording import Unpriced, held_houses, unpriced_of
from scheduling.models import Scenario
from scheduling.money_wording import amount
from scheduling.queries.scenarios import (
    is_adopted,
    names_in_changes,
    scenario_runs,
    scenarios_of,
)
from scheduling.scenario_wording import change_sentence
from scheduling.services.compared_scenarios import PlanFigures, compared, priced
from scheduling.services.kept_costs import CostBeside
from scheduling.services.scenario_changes import changes_of
from scheduling.wording import figure, listed, moment


@dataclass(frozen=True)
class Line:
    """A scenario in the list."""

    scenario: Scenario
    changes: list[str]
    progress: Progress | None
    is_planned: bool
    is_outdated: bool
    is_adopted: bool

    @property
    def is_to_plan(self) -> bool:
        waiting = self.progress is None or self.progress.over
        return waiting and not self.is_adopted and (self.is_outdated or not self.is_planned)


@dataclass(frozen=True)
class Row:
    """A figure, with a cell for each plan, by its name."""

    name: str
    cells: list[tuple[str, str]]


@dataclass(frozen=True)
class Beside:
    """Plans side by side. heads: what each is called, and its scenario; None for the working
    plan. cost_notes: what their costs are of; none where there are no costs. left_out: plans with
    work that has no place, "" for none."""

    heads: list[tuple[str, Scenario | None]]
    rows: list[Row]
    chart: str
    patterns: str
    cost_notes: list[str]
    left_out: str
    unpriced: Unpriced


@dataclass(frozen=True)
class ScenariosPage:
    """All that the page shows."""

    lines: list[Line]
    beside: Beside | None
    costs_to_come: bool
    going_on: bool
    to_plan: int
    can_plan: bool
    has_plan: bool


def scenarios_page(company: Company, *, now: datetime, with_costs: bool) -> ScenariosPage:
    """Return the page as things stand; with_costs: for who may see prices."""
    scenarios = scenarios_of(company)
    runs, names = scenario_runs(scenarios), names_in_changes(company) if scenarios else {}
    figures = compared(company, scenarios)
    planned = {row.scenario.pk: row for row in figures if row.scenario}
    plans = [row.plan for row in figures] if planned and with_costs else []
    costs = costs_or_none(company, plans, now=now) if plans else {}
    figures = priced(figures, costs) if costs else figures
    lines = [
        Line(
            scenario=one,
            changes=[change_sentence(change, names) for change in changes_of(one.changes)],
            progress=progress_of(runs.get(one.pk), now),
            is_planned=one.pk in planned,
            is_outdated=one.pk in planned and planned[one.pk].is_outdated,
            is_adopted=one.pk not in planned and is_adopted(one, None),
        )
        for one in scenarios
    ]
    return ScenariosPage(
        lines=lines,
        beside=_beside(company, figures) if planned else None,
        costs_to_come=costs is None,
        going_on=any(line.progress and not line.progress.over for line in lines),
        to_plan=sum(line.is_to_plan for line in lines),
        can_plan=can_plan(company),
        has_plan=any(row.scenario is None for row in figures),
    )


def _beside(company: Company, figures: Sequence[PlanFigures]) -> Beside:
    heads = [
        (row.scenario.name if row.scenario else gettext("The working plan"), row.scenario)
        for row in figures
    ]
    measures = [
        Measure(name, [_said(value(row), unit) for row in figures])
        for name, value, unit in _measures()
    ]
    has_costs = any(row.cost and row.cost.cost.total for row in figures)
    if has_costs:
        measures.append(Measure(gettext("Cost"), [_cost(row.cost, company) for row in figures]))
    names = [name for name, _ in heads]
    chart = scenario_chart(names, measures, first_is=figures[0].scenario is None)
    return Beside(
        heads=heads,
        rows=[_row(measure, names) for measure in measures],
        chart=chart,
        patterns=pattern_markup(),
        cost_notes=_cost_notes(company, figures[0]) if has_costs else [],
        left_out=_left_out(names, figures),
        unpriced=unpriced_of(
            {code for row in figures if row.cost for code in row.cost.cost.unpriced}
        ),
    )


def _left_out(names: Sequence[str], figures: Sequence[PlanFigures]) -> str:
    """Name the plans with work that has no place, and its houses; "" for none."""
    held = [
        gettext("%(plan)s (%(houses)s)") % {"plan": name, "houses": listed(houses)}
        for name, row in zip(names, figures, strict=True)
        if (houses := held_houses(row.plan))
    ]
    return listed(held)


type Value = Callable[[PlanFigures], float | None]


def _measures() -> list[tuple[str, Value, str]]:
    """Return what plans are compared by: a name, the figure and its unit."""
    return [
        (gettext("Days late, by weight"), lambda row: row.late_days, ""),
        (gettext("Handovers late or not planned"), lambda row: row.missed, ""),
        (gettext("Handovers missed on average, in the air that may come"), _odds, ""),
        (gettext("Idle hours within days"), lambda row: row.idle_hours, gettext(" h")),
        (gettext("Published visits moved"), lambda row: row.moved, ""),
        (gettext("Visits"), lambda row: row.visits, ""),
    ]


def _odds(row: PlanFigures) -> float | None:
    return row.odds_missed


def _said(value: float | None, unit: str) -> tuple[float, str] | None:
    return None if value is None else (value, f"{figure(value)}{unit}")


def _cost(beside: CostBeside | None, company: Company) -> tuple[float, str] | None:
    """Return a cost in words; None for nothing that only seems to cost nothing."""
    if beside is None or (beside.cost.unpriced and not beside.cost.total):
        return None
    return beside.cost.total, amount(beside.cost.total, company)


def _cost_notes(company: Company, first: PlanFigures) -> list[str]:
    """Say from when on costs count, and why the page of the working plan's costs has another."""
    beside, zone = first.cost, ZoneInfo(company.zone)
    if beside is None or beside.since is None or beside.in_all_since is None:
        return [gettext("Costs are at today's prices.")]
    said = gettext(
        "Costs are those of the work from %(since)s on, the moment that the newest of these plans "
        "was made for, at today's prices."
    )
    notes = [said % {"since": moment(beside.since, zone)}]
    if first.scenario is None and beside.in_all.total != beside.cost.total:
        said = gettext(
            "The working plan was made for %(since)s, and costs %(cost)s from then on: its page of "
            "costs has the work that is over since as well."
        )
        cost = amount(beside.in_all.total, company)
        notes.append(said % {"since": moment(beside.in_all_since, zone), "cost": cost})
    return notes


def _row(measure: Measure, names: list[str]) -> Row:
    said = [value[1] if value else "" for value in measure.values]
    return Row(measure.name, list(zip(names, said, strict=True)))
