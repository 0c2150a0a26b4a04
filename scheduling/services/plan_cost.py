"""What a stored plan costs: by visit, by house, and in all."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from finishing.models import Company, Dryer, House
from finishing.queries.materials import read_catalogue, tapes_of
from finishing.queries.prices import price_list
from finishing.rules.costs import Cost, VisitWork, late_cost, total_of, visit_cost
from scheduling.models import Plan
from scheduling.queries.runs import PAID_TIME, problem_parts
from scheduling.queries.visits import Block, plan_blocks
from scheduling.services.dryer_stays import stay_rows
from scheduling.services.material_uses import VisitReader
from scheduling.services.time_sheet import TimeSheet, VisitTime

A_DAY = timedelta(days=1)


@dataclass(frozen=True)
class VisitCost:
    """A visit with what it costs; person_minutes: on site."""

    block: Block
    person_minutes: int
    cost: Cost


@dataclass(frozen=True)
class HouseCost:
    """A house: its visits, and what it costs beside them (dryers that stand, days late)."""

    house: House
    visits: tuple[VisitCost, ...]
    beside: Cost

    @property
    def cost(self) -> Cost:
        return total_of(visit.cost for visit in self.visits) + self.beside

    @property
    def person_minutes(self) -> int:
        return sum(visit.person_minutes for visit in self.visits)


@dataclass(frozen=True)
class PlanCost:
    """A plan's houses by name. What it costs is the sum of what they cost."""

    houses: tuple[HouseCost, ...]

    @property
    def cost(self) -> Cost:
        return total_of(house.cost for house in self.houses)

    @property
    def person_minutes(self) -> int:
        return sum(house.person_minutes for house in self.houses)

    def of(self, house: House) -> HouseCost:
        """Return the part of one house; nothing where the plan has nothing to do with it."""
        found = (one for one in self.houses if one.house == house)
        return next(found, HouseCost(house, (), Cost()))


def plan_cost(plan: Plan) -> PlanCost:
    """Return what a stored plan costs at the company's prices as they are now."""
    return Pricing(plan.company).of(plan)


class Pricing:
    """A company's prices, read once for several plans.

    A plan is paid for from the moment that it was made for: its visits that are under way or to
    come. Plans of one run (proposals) and scenarios beside each other are thus of the same work.
    """

    def __init__(self, company: Company) -> None:
        self.prices = price_list(company)
        self.material = VisitReader(company, read_catalogue(company), tapes_of(company))
        dryers = Dryer.objects.filter(company=company)
        self.dryers = {str(row.public_id): row.cost_per_day for row in dryers}
        self.houses = {str(row.public_id): row for row in House.objects.filter(company=company)}
        self._sheets: dict[int | None, TimeSheet] = {}

    def of(self, plan: Plan) -> PlanCost:
        """Return what one plan of the company costs."""
        visits: dict[str, list[VisitCost]] = {}
        for time in self._sheet(plan.run_id).visits(plan_blocks(plan)):
            house = str(time.block.house.public_id)
            visits.setdefault(house, []).append(self.visit(time))
        beside = self._beside(plan)
        named = (self.houses[key] for key in {*visits, *beside} if key in self.houses)
        return PlanCost(
            tuple(
                HouseCost(
                    house,
                    tuple(visits.get(str(house.public_id), ())),
                    beside.get(str(house.public_id), Cost()),
                )
                for house in sorted(named, key=lambda house: house.name)
            )
        )

    def visit(self, time: VisitTime) -> VisitCost:
        """Return what one visit costs."""
        crew = str(time.block.crew.public_id)
        work = VisitWork(crew, time.hours, time.ways, *self.material.price(time.block.tasks))
        minutes = sum(hours.person_minutes for hours in time.hours)
        return VisitCost(time.block, minutes, visit_cost(work, self.prices))

    def _sheet(self, run_id: int | None) -> TimeSheet:
        """Return who is paid when in the plans of a run."""
        if run_id not in self._sheets:
            parts = {} if run_id is None else problem_parts(run_id, PAID_TIME)
            self._sheets[run_id] = TimeSheet.of_problem(parts)
        return self._sheets[run_id]

    def _beside(self, plan: Plan) -> Mapping[str, Cost]:
        """Return by house what belongs to none of its visits."""
        found: dict[str, Cost] = {}
        for row in stay_rows(plan):
            stands = datetime.fromisoformat(row["collect_at"]) - datetime.fromisoformat(
                row["set_at"]
            )
            a_day = self.dryers.get(row["dryer"], 0)
            cost = Cost(dryers=math.ceil(stands / A_DAY) * a_day)  # a day begun is paid for
            found[row["house_id"]] = found.get(row["house_id"], Cost()) + cost
        for row in plan.handovers:
            house = self.houses.get(row["house_id"])
            if house and row["late_minutes"] > 0:
                due_on = date.fromisoformat(row["due_on"])
                days = _days_late(datetime.fromisoformat(row["met_at"]), due_on, house)
                cost = late_cost(days, due_on, row["house_id"], self.prices)
                found[row["house_id"]] = found.get(row["house_id"], Cost()) + cost
        return found


def _days_late(met_at: datetime, due_on: date, house: House) -> int:
    """Return the begun days of the house's clock after the day that was promised."""
    last_moment = met_at - timedelta(microseconds=1)  # midnight belongs to the day that it ends
    return (last_moment.astimezone(ZoneInfo(house.zone)).date() - due_on).days
