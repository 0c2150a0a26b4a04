"""What each visit uses up, read from the details of its tasks: of a plan, or as crews were told."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from fractions import Fraction
from typing import Any
from zoneinfo import ZoneInfo

from finishing.models import Company, Crew, House
from finishing.queries.materials import Catalogue, Item
from finishing.rules.costs import UNPRICED_MATERIAL
from finishing.rules.materials import WASTE_SHARE, litres_per_unit
from finishing.rules.used_up import TAPES, Worked, units_used
from finishing.rules.vocabulary import Hardening, JointKind, Stage, Tape
from scheduling.models import PlannedTask, Visit
from scheduling.queries.visits import Block
from scheduling.services.calendars import members_present

type Codes = Mapping[str, Any]
type Amounts = dict[Item, float]


@dataclass(frozen=True)
class MaterialVisit:
    """A visit with what it uses. key: names it among others; tasks: their details with key and
    stage; fasteners_l: how many of the mixed litres go on fasteners; told_heads: how many were told
    of it, None for a visit of a plan."""

    key: str
    crew: Crew
    house: House
    starts_at: datetime
    day: date
    tasks: Sequence[Codes]
    amounts: Amounts
    litres: float
    fasteners_l: float
    told_heads: int | None = None

    @property
    def heads(self) -> int:
        """How many work there; one where nobody is named. Of a plan's visit it needs the crew's
        people (``read_people``)."""
        heads = self.told_heads
        return max(1, len(members_present(self.crew, self.day)) if heads is None else heads)


class VisitReader:
    """Reads visits of a company, whose catalogue this is; of published ones it needs the people."""

    def __init__(self, company: Company, catalogue: Catalogue) -> None:
        self.company = company
        self.catalogue = catalogue
        self.beads_with = beads_stage(company)
        self._unit_prices = {item.key: item.unit_price for item in catalogue.items}

    def planned(self, block: Block) -> MaterialVisit:
        """Return a visit of a plan, whose tasks have their details."""
        tasks = [_codes(row) for row in block.tasks]
        first = block.tasks[0]
        key = str(first.public_id)
        return self._read(key, block.crew, block.house, first.starts_at, tasks)

    def told(self, visit: Visit, crew: Crew) -> MaterialVisit:
        """Return a published visit of a crew."""
        tasks = visit.content["tasks"]
        heads = sum(person.cancelled_at is None for person in visit.people.all())
        read = self._read(str(visit.public_id), crew, visit.house, visit.starts_at, tasks)
        return replace(read, told_heads=heads)

    def _read(
        self, key: str, crew: Crew, house: House, starts_at: datetime, tasks: Sequence[Codes]
    ) -> MaterialVisit:
        return MaterialVisit(
            key=key,
            crew=crew,
            house=house,
            starts_at=starts_at,
            day=starts_at.astimezone(ZoneInfo(crew.zone)).date(),
            tasks=tasks,
            amounts=self.amounts(tasks),
            litres=sum(
                task["material"].get("litres", 0.0) for task in tasks if task.get("material")
            ),
            fasteners_l=sum(map(_fasteners_l, tasks)),
        )

    def amounts(self, tasks: Iterable[Codes]) -> Amounts:
        """Return by item what tasks use, in its unit; what is not bought by name is left out."""
        found: defaultdict[Item, float] = defaultdict(float)
        for _code, item, amount in self._used(tasks):
            if item is not None:
                found[item] += amount
        return dict(found)

    def price(self, tasks: Iterable[PlannedTask]) -> tuple[Fraction, frozenset[str]]:
        """Return what :meth:`price_of` has of a plan's tasks."""
        return self.price_of(map(_codes, tasks))

    def price_of(self, tasks: Iterable[Codes]) -> tuple[Fraction, frozenset[str]]:
        """Return what the material of tasks costs, of each pack the share that is used, in
        (fractions of) minor units, and what of it has no price (see ``Cost.unpriced``)."""
        total, unpriced = Fraction(0), set()
        for code, item, amount in self._used(tasks):
            each = self._unit_prices.get(item.key) if item else None
            if each is None:
                unpriced.add(code)
            else:
                total += each * Fraction(str(amount))
        return total, frozenset(unpriced)

    def _used(self, tasks: Iterable[Codes]) -> Iterator[tuple[str, Item | None, float]]:
        """Yield what is used as :attr:`Cost.unpriced` has it, the item that it is bought as if it
        is, and how much."""
        for task in tasks:
            yield from self._compound(task)
            yield from self._supplies(task)

    def _compound(self, task: Codes) -> Iterator[tuple[str, Item | None, float]]:
        name, material = task.get("compound", ""), task.get("material") or {}
        sets = task.get("hardening") == Hardening.SETS
        amount = (material.get("powder_kg") if sets else 0) or material.get("kg", 0.0)
        if amount > 0:
            yield f"{UNPRICED_MATERIAL}:{name}", self.catalogue.by_compound.get(name), float(amount)

    def _supplies(self, task: Codes) -> Iterator[tuple[str, Item | None, float]]:
        if task["stage"] not in Stage:
            return
        stage, code = Stage(task["stage"]), task.get("tape")
        tape = Tape(code or Tape.PAPER)  # no other stage than the tape coat says, or takes, any
        beads_now = stage is self.beads_with
        for kind, units in units_used(stage, worked(task), tape=tape, beads_now=beads_now).items():
            item = self.catalogue.by_kind.get(kind)
            if code and kind is TAPES[tape]:  # as many metres as the crew is told of
                yield kind.value, item, task["material"]["tape_m"]
            else:
                yield kind.value, item, units * (item.used_per_unit if item else 1.0)


def beads_stage(company: Company) -> Stage:
    """Return the stage that fixes beads: with the gaps filled, or else with the tape coat."""
    return Stage.PREFILL if Stage.PREFILL in company.stages else Stage.TAPE


def _codes(row: PlannedTask) -> Codes:
    times = {"starts_at": row.starts_at.isoformat(), "ends_at": row.ends_at.isoformat()}
    return {**row.details, **times, "key": row.key, "stage": row.stage}


def worked(task: Codes) -> list[Worked]:
    """Return a task's work by joint kind; what is no joint (a cornice) is left out."""
    return [
        Worked(JointKind(line["kind"]), float(line["quantity"]), bool(line.get("plastic_bead")))
        for line in task.get("work") or ()
        if line["kind"] in JointKind
    ]


def _fasteners_l(task: Codes) -> float:
    """Return the litres that go on fasteners, waste included as in the task's own."""
    if task["stage"] not in Stage or not task.get("material"):
        return 0.0
    each = litres_per_unit(Stage(task["stage"]), JointKind.FASTENERS) * (1 + WASTE_SHARE)
    return sum(each * one.quantity for one in worked(task) if one.kind is JointKind.FASTENERS)
