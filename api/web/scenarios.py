"""The page of all scenarios: what each changes, how far it is, and all plans side by side."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.utils.translation import gettext

from api.web.charts import pattern_markup
from api.web.run_standing import Progress, progress_of
from api.web.scenario_chart import Measure, scenario_chart
from finishing.models import Company
from finishing.queries.companies import can_plan
from finishing.rules.costs import Cost
from scheduling.cost_wording import Unpriced, unpriced_of
from scheduling.models import Scenario
from scheduling.money_wording import amount
from scheduling.queries.scenarios import (
    is_adopted,
    names_in_changes,
    scenario_runs,
    scenarios_of,
)
from scheduling.scenario_wording import change_sentence
from scheduling.services.compared_scenarios import PlanFigures, compared
from scheduling.services.scenario_changes import changes_of
from scheduling.wording import figure


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
    plan."""

    heads: list[tuple[str, Scenario | None]]
    rows: list[Row]
    chart: str
    patterns: str
    has_costs: bool
    unpriced: Unpriced


@dataclass(frozen=True)
class ScenariosPage:
    """All that the page shows."""

    lines: list[Line]
    beside: Beside | None
    going_on: bool
    to_plan: int
    can_plan: bool
    has_plan: bool


def scenarios_page(company: Company, *, now: datetime, with_costs: bool) -> ScenariosPage:
    """Return the page as things stand; with_costs: for who may see prices."""
    scenarios = scenarios_of(company)
    runs, names = scenario_runs(scenarios), names_in_changes(company) if scenarios else {}
    figures = compared(company, scenarios, with_costs=with_costs)
    planned = {row.scenario.pk: row for row in figures if row.scenario}
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
    has_costs = any(row.cost and row.cost.total for row in figures)
    if has_costs:
        measures.append(Measure(gettext("Cost"), [_cost(row.cost, company) for row in figures]))
    names = [name for name, _ in heads]
    chart = scenario_chart(names, measures, first_is=figures[0].scenario is None)
    return Beside(
        heads=heads,
        rows=[_row(measure, names) for measure in measures],
        chart=chart,
        patterns=pattern_markup(),
        has_costs=has_costs,
        unpriced=unpriced_of({code for row in figures if row.cost for code in row.cost.unpriced}),
    )


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


def _cost(cost: Cost | None, company: Company) -> tuple[float, str] | None:
    """Return a cost in words; None for nothing that only seems to cost nothing."""
    if cost is None or (cost.unpriced and not cost.total):
        return None
    return cost.total, amount(cost.total, company)


def _row(measure: Measure, names: list[str]) -> Row:
    said = [value[1] if value else "" for value in measure.values]
    return Row(measure.name, list(zip(names, said, strict=True)))
