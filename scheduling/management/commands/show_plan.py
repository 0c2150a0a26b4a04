"""manage.py show_plan"""

import json
from collections.abc import Iterator
from datetime import date
from itertools import groupby
from typing import Any
from zoneinfo import ZoneInfo

from django.core.management.base import CommandError, CommandParser

from finishing.management.base import CompanyCommand
from finishing.models import Company
from finishing.queries.houses import zones_of_houses
from scheduling.dryer_wording import dryer_sentence
from scheduling.management.planning import figures
from scheduling.models import Plan
from scheduling.queries.plans import working_plan
from scheduling.queries.visits import Block, plan_blocks
from scheduling.wording import (
    handover_sentence,
    hold_sentence,
    listed,
    stage_name,
    why_sentence,
)


class Command(CompanyCommand):
    help = "Show the working plan, crew by crew and day by day."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("--json", action="store_true", help="for another program")
        parser.add_argument(
            "--why", action="store_true", help="say of each task why it is not earlier"
        )

    def work(self, company: Company, options: dict[str, Any]) -> None:
        plan = working_plan(company)
        if plan is None:
            raise CommandError(f"{company} has no plan yet: use manage.py replan first")
        if options["json"]:
            self.stdout.write(json.dumps(plan_as_json(plan), indent=1, ensure_ascii=False))
        else:
            self._write_plan(plan, ZoneInfo(company.zone), why=options["why"])

    def _write_plan(self, plan: Plan, zone: ZoneInfo, *, why: bool) -> None:
        self.stdout.write(figures(plan))
        for (crew, day), blocks in groupby(plan_blocks(plan), key=_crew_and_day):
            self.stdout.write(f"\n{crew}, {day:%a %d %b %Y}")
            for block in blocks:
                self.stdout.write(f"  {_line(block)}")
                for line in _why(block) if why else ():
                    self.stdout.write(f"    {line}")
        self.stdout.write("")
        zones = zones_of_houses(plan.company)
        for handover in plan.handovers:
            self.stdout.write(handover_sentence(handover, zones.get(handover["house"], zone)))
        for row in plan.dryers:
            of_house = zones.get(row.get("house", ""), zone)
            self.stdout.write(dryer_sentence(row, of_house, plan.company))
        for hold in plan.holds:
            self.stdout.write(f"hold: {hold_sentence(hold)}")


def plan_as_json(plan: Plan) -> dict[str, Any]:
    """Return a plan for another program: times in UTC, ISO 8601; codes, not sentences."""
    return {
        "created_at": plan.created_at.isoformat(),
        "status": plan.status,
        "lateness_minutes": plan.lateness_minutes,
        "visits": plan.visits,
        "idle_minutes": plan.idle_minutes,
        "air_assumed_from": plan.air_assumed_from,
        "handovers": plan.handovers,
        "holds": plan.holds,
        "dryers": plan.dryers,
        "tasks": [
            {
                "key": task.key,
                "crew": block.crew.name,
                "house": block.house.name,
                "stage": task.stage,
                "starts_at": task.starts_at.isoformat(),
                "ends_at": task.ends_at.isoformat(),
                "ready_at": task.ready_at.isoformat() if task.ready_at else None,
                **task.details,
            }
            for block in plan_blocks(plan)
            for task in block.tasks
        ],
    }


def _why(block: Block) -> Iterator[str]:
    zone = ZoneInfo(block.crew.zone)
    for task in block.tasks:
        what = listed([stage_name(task.stage), task.details["room"] or task.details["job"]])
        at = f"{task.starts_at.astimezone(zone):%H:%M}"
        yield f"{at} {what}: {why_sentence(task.details.get('why'), zone)}"


def _crew_and_day(block: Block) -> tuple[str, date]:
    return block.crew.name, block.starts_at.astimezone(ZoneInfo(block.crew.zone)).date()


def _line(block: Block) -> str:
    zone = ZoneInfo(block.crew.zone)
    hours = f"{block.starts_at.astimezone(zone):%H:%M}-{block.ends_at.astimezone(zone):%H:%M}"
    stages = []
    for stage, tasks in groupby(block.tasks, key=lambda task: task.stage):
        rooms = [task.details["room"] or task.details["job"] for task in tasks]
        stages.append(f"{stage_name(stage)} ({listed(rooms)})")
    return f"{hours}  {block.house.name}: {'; '.join(stages)}"
