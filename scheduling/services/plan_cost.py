"""What a stored plan costs: by visit, by house, and in all."""

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from finishing.models import Company, Dryer, House
from finishing.queries.materials import read_catalogue
from finishing.queries.prices import price_list
from finishing.rules.costs import Cost, VisitWork, late_cost, total_of, visit_cost
from scheduling.models import Plan
from scheduling.queries.runs import PAID_TIME, parts_by_run
from scheduling.queries.visits import Block, blocks_by_plan
from scheduling.services.dryer_stays import stay_rows
from scheduling.services.material_uses import VisitReader
from scheduling.services.time_sheet import TimeSheet, VisitTime

A_DAY = timedelta(days=1)
type DatedCost = tuple[datetime, Cost]


def paid_since(plan: Plan) -> datetime | None:
    """Return the moment that a plan was made for; None where no run made it."""
    return plan.run.plan_from if plan.run else None


def counts(until: datetime, since: datetime | None) -> bool:
    """Return whether what ends at a moment is paid for since another."""
    return since is None or until > since


@dataclass(frozen=True)
class VisitCost:
    """A visit with what it costs. crew: its id as the plan's problem has it; zone: the crew's;
    person_minutes: on site."""

    crew: str
    crew_name: str
    zone: str
    starts_at: datetime
    ends_at: datetime
    person_minutes: int
    cost: Cost


@dataclass(frozen=True)
class HouseCost:
    """A house (public id): its visits by time, and what it costs beside them (dryers, days late),
    each with the moment until which it grows."""

    house_id: str
    name: str
    visits: tuple[VisitCost, ...] = ()
    dated_beside: tuple[DatedCost, ...] = ()

    @property
    def beside(self) -> Cost:
        return total_of(cost for _until, cost in self.dated_beside)

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
        house_id = str(house.public_id)
        found = (one for one in self.houses if one.house_id == house_id)
        return next(found, HouseCost(house_id, house.name))

    def dated(self) -> Iterator[DatedCost]:
        """Yield all that it costs with its end: of a visit when the crew leaves."""
        for house in self.houses:
            yield from ((visit.ends_at, visit.cost) for visit in house.visits)
            yield from house.dated_beside


class Pricing:
    """A company's prices, read once for several plans.

    A plan is paid for from the moment that it was made for: its visits that are under way or to
    come. One that was a scenario's has visits of earlier that day too, which count in neither.
    Plans of one run (proposals) and scenarios beside each other are thus of the same work.
    """

    def __init__(self, company: Company) -> None:
        self.company = company
        self.prices = price_list(company)
        self.material = VisitReader(company, read_catalogue(company))
        dryers = Dryer.objects.filter(company=company)
        self.dryers = {str(row.public_id): row.cost_per_day for row in dryers}
        self.houses = {str(row.public_id): row for row in House.objects.filter(company=company)}

    def of_all(self, plans: Sequence[Plan]) -> dict[int, PlanCost]:
        """Return by pk what plans of the company cost, in two queries."""
        parts = parts_by_run({plan.run_id for plan in plans if plan.run_id}, PAID_TIME)
        sheets = {run: TimeSheet.of_problem(problem) for run, problem in parts.items()}
        nobodys = TimeSheet.of_problem({})
        blocks = blocks_by_plan(self.company.pk, plans)
        return {
            plan.pk: self._of(plan, sheets.get(plan.run_id or 0, nobodys), blocks[plan.pk])
            for plan in plans
        }

    def _of(self, plan: Plan, sheet: TimeSheet, blocks: Iterable[Block]) -> PlanCost:
        visits: defaultdict[str, list[VisitCost]] = defaultdict(list)
        beside: defaultdict[str, list[DatedCost]] = defaultdict(list)
        since = paid_since(plan)
        for time in sheet.visits(blocks):
            if counts(time.block.ends_at, since):
                visits[str(time.block.house.public_id)].append(self.visit(time))
        for house_id, dated in (*self._stays(plan), *self._late(plan)):
            if counts(dated[0], since):
                beside[house_id].append(dated)
        costly = visits.keys() | beside.keys()
        names = [(row.name, key) for key, row in self.houses.items() if key in costly]
        return PlanCost(
            tuple(
                HouseCost(key, name, _by_time(visits[key]), tuple(beside[key]))
                for name, key in sorted(names)
            )
        )

    def visit(self, time: VisitTime) -> VisitCost:
        """Return what one visit costs."""
        block, crew = time.block, time.block.crew
        material = self.material.price(block.tasks)
        work = VisitWork(str(crew.public_id), time.hours, time.ways, *material)
        return VisitCost(
            crew=block.crew_id,
            crew_name=crew.name,
            zone=crew.zone,
            starts_at=block.starts_at,
            ends_at=block.ends_at,
            person_minutes=sum(hours.person_minutes for hours in time.hours),
            cost=visit_cost(work, self.prices),
        )

    def _stays(self, plan: Plan) -> Iterator[tuple[str, DatedCost]]:
        """Yield by house what its dryers cost."""
        for row in stay_rows(plan):
            collected = datetime.fromisoformat(row["collect_at"])
            stands = collected - datetime.fromisoformat(row["set_at"])
            a_day = self.dryers.get(row["dryer"], 0)
            cost = Cost(dryers=math.ceil(stands / A_DAY) * a_day)  # a day begun is paid for
            yield row["house_id"], (collected, cost)

    def _late(self, plan: Plan) -> Iterator[tuple[str, DatedCost]]:
        """Yield by house what its late handovers cost."""
        for row in plan.handovers:
            house = self.houses.get(row["house_id"])
            if house and row["late_minutes"] > 0:
                due_on, met_at = (
                    date.fromisoformat(row["due_on"]),
                    datetime.fromisoformat(row["met_at"]),
                )
                days = _days_late(met_at, due_on, house)
                yield (
                    row["house_id"],
                    (met_at, late_cost(days, due_on, row["house_id"], self.prices)),
                )


def _by_time(visits: Iterable[VisitCost]) -> tuple[VisitCost, ...]:
    return tuple(sorted(visits, key=lambda visit: (visit.starts_at, visit.crew_name)))


def _days_late(met_at: datetime, due_on: date, house: House) -> int:
    """Return the begun days of the house's clock after the day that was promised."""
    last_moment = met_at - timedelta(microseconds=1)  # midnight belongs to the day that it ends
    return (last_moment.astimezone(ZoneInfo(house.zone)).date() - due_on).days
