"""The proposals of a run side by side, so that somebody can choose one."""

from collections.abc import Mapping
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from django.utils.translation import gettext

from finishing.models import Company
from finishing.queries.houses import zones_of_houses
from scheduling.change_wording import kind_name, least_sentence
from scheduling.compared_wording import (
    Compared,
    compared_figures,
    compared_handovers,
    compared_visits,
)
from scheduling.models import Plan
from scheduling.money_wording import amount
from scheduling.queries.plans import PlanStates
from scheduling.services.plan_cost import PlanCost


@dataclass(frozen=True)
class Proposal:
    """A proposal to choose.

    least: whether it is proved to change least. state: ``open`` to be accepted, ``working`` once
    it is the plan to work on, ``published`` once crews see it, ``over`` when something else has
    taken its place.
    """

    plan: Plan
    number: int
    kind: str
    least: str
    state: str


@dataclass(frozen=True)
class Choice:
    """The proposals, and their figures, promises and moved visits in rows with a cell for each."""

    proposals: list[Proposal]
    figures: "list[Row]"
    handovers: "list[Row]"
    visits: "list[Row]"


@dataclass(frozen=True)
class Cell:
    """What a proposal says in a row; ``head`` names its column where a phone has no columns."""

    head: str
    words: str
    late: bool
    same: bool


@dataclass(frozen=True)
class Row:
    """A row of the tables."""

    name: str
    before: str
    was_late: bool
    cells: list[Cell]


def choice_of(company: Company, plans: list[Plan], costs: Mapping[int, PlanCost]) -> Choice:
    """Return the proposals of one run side by side; costs: of each (pk), empty where none are
    shown."""
    states, changes = PlanStates(company), [plan.change for plan in plans]
    proposals = [
        Proposal(
            plan,
            number,
            kind_name(plan.kind),
            least_sentence(plan.change) if number == 1 else "",
            states.of(plan),
        )
        for number, plan in enumerate(plans, start=1)
    ]
    heads = [f"{one.number}. {one.kind}" for one in proposals]
    idle = [plan.idle_minutes for plan in plans]
    clocks = zones_of_houses(company)
    return Choice(
        proposals,
        _rows([*compared_figures(changes, idle), *(_costs(plans, costs) if costs else [])], heads),
        _rows(compared_handovers(changes, ZoneInfo(company.zone), clocks), heads),
        _rows(compared_visits(changes), heads),
    )


def _costs(plans: list[Plan], costs: Mapping[int, PlanCost]) -> list[Compared]:
    company = plans[0].company
    words = tuple(amount(costs[plan.pk].cost.total, company) for plan in plans)
    return [Compared(gettext("Cost from now on"), "", words)]


def _rows(lines: list[Compared], heads: list[str]) -> list[Row]:
    return [
        Row(
            line.name,
            line.before,
            line.was_late,
            [
                Cell(head, words, late, words == line.before)
                for head, words, late in zip(
                    heads, line.after, line.late or [False] * len(heads), strict=True
                )
            ],
        )
        for line in lines
    ]
