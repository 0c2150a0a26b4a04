"""manage.py replan"""

from typing import Any
from zoneinfo import ZoneInfo

from django.core.management.base import CommandError, CommandParser

from finishing.management.base import CompanyCommand
from finishing.models import Company, Crew, House
from finishing.queries.houses import zones_of_houses
from finishing.services.companies import set_planned_air
from scheduling.change_wording import (
    change_rows,
    freed_sentence,
    handover_change_sentence,
    kind_name,
    least_sentence,
    move_sentence,
    proposals_sentence,
)
from scheduling.management.planning import (
    add_budget,
    add_today,
    figures,
    moment_of,
    plan_company,
)
from scheduling.models import Plan
from scheduling.queries.plans import proposals_of, proposals_of_run
from scheduling.wording import hold_sentence


class Command(CompanyCommand):
    help = "Plan all houses from now on; what crews see changes only with publish."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        add_budget(parser, seconds=None)
        add_today(parser)
        parser.add_argument(
            "--moves", action="store_true", help="show each published visit before and after"
        )

        parser.add_argument(
            "--air",
            choices=Company.PlannedAir.values,
            help="plan against this air, now and from now on: average (at first), or eight_in_ten, "
            "so damp that waits hold in 8 of 10",
        )

    def work(self, company: Company, options: dict[str, Any]) -> None:
        for model, command in ((House, "import_houses"), (Crew, "import_crews")):
            if not model.objects.filter(company=company).exists():
                raise CommandError(
                    f"{company} has no {model._meta.verbose_name_plural} yet: "
                    f"use manage.py {command} first"
                )
        if options["air"]:
            company = set_planned_air(company=company, planned_air=options["air"])
        plan = plan_company(
            company,
            moment_of(company, options["today"]),
            seconds=options["seconds"],
            seed=options["seed"],
            work=options["work"],
        )
        self._write_notes(plan)
        if plan.kind:
            self._write_proposals(plan, verbose=options["moves"])
            return
        self.stdout.write(f"{company}: {figures(plan)}")
        if plan.holds and not plan.tasks.exists():
            raise CommandError("nothing could be planned; the holds above say why")
        self.stdout.write("manage.py publish shows it to the crews")

    def _write_notes(self, plan: Plan) -> None:
        """Say how the run ended, what could not be planned, and what could not stay."""
        if plan.run and plan.run.error:
            self.stdout.write(f"note: {plan.run.error}")
        for hold in plan.holds:
            self.stdout.write(f"hold: {hold_sentence(hold)}")
        for visit in plan.run.freed if plan.run else []:
            self.stdout.write(f"freed: {freed_sentence(visit)}")
        if plan.run and plan.run.unreported:
            self.stdout.write(
                f"{plan.run.unreported} past tasks count as done as planned, as nobody has said "
                "otherwise: manage.py unreported lists them, manage.py report says how it was"
            )

    def _write_proposals(self, first: Plan, *, verbose: bool) -> None:
        assert first.run, "a run has proposed it"
        company, plans = first.company, proposals_of_run(first.run)
        zones = zones_of_houses(company)
        revision = plans[0].base.revision if plans[0].base else 0
        self.stdout.write(f"{company}: {proposals_sentence(len(plans), revision)}")
        for line in side_by_side(plans):
            self.stdout.write(line)
        for number, plan in enumerate(plans, 1):
            self.stdout.write(f"\n{number}, {kind_name(plan.kind)}: {figures(plan)}")
            if number == 1:
                self.stdout.write(f"  {least_sentence(plan.change)}")
            for row in plan.change["handovers"]:
                if row["before"] != row["after"]:
                    zone = zones.get(row["house"], ZoneInfo(company.zone))
                    self.stdout.write(f"  {handover_change_sentence(row, zone)}")
            for move in plan.change["moves"] if verbose else []:
                self.stdout.write(f"  {move_sentence(move)}")
        self.stdout.write(
            "\nthe working plan is as it was; manage.py accept 1 takes the first"
            if plans == proposals_of(company)
            else "\na later replan has taken the place of these: none of them can be accepted"
        )


def side_by_side(plans: list[Plan]) -> list[str]:
    """Return the proposals' figures as the lines of a table, a column for each."""
    columns = [change_rows(plan.change, plan.idle_minutes) for plan in plans]
    width = max(len(name) for name, _ in columns[0])
    heads = [f"{number}, {kind_name(plan.kind)}" for number, plan in enumerate(plans, 1)]
    return [
        " " * width + "".join(f"{head:>24}" for head in heads),
        *(
            f"{rows[0][0]:{width}}" + "".join(f"{value:>24}" for _, value in rows)
            for rows in zip(*columns, strict=True)
        ),
    ]
