"""manage.py replan"""

from typing import Any

from django.core.management.base import CommandError, CommandParser

from finishing.management.base import CompanyCommand
from finishing.models import Company, Crew, House
from scheduling.management.planning import (
    add_budget,
    add_today,
    figures,
    moment_of,
    plan_company,
)
from scheduling.wording import hold_sentence


class Command(CompanyCommand):
    help = "Plan all houses from now on; what crews see changes only with publish."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        add_budget(parser)
        add_today(parser)

    def work(self, company: Company, options: dict[str, Any]) -> None:
        for model, command in ((House, "import_houses"), (Crew, "import_crews")):
            if not model.objects.filter(company=company).exists():
                raise CommandError(
                    f"{company} has no {model._meta.verbose_name_plural} yet: "
                    f"use manage.py {command} first"
                )
        plan = plan_company(
            company,
            moment_of(company, options["today"]),
            seconds=options["seconds"],
            seed=options["seed"],
            work=options["work"],
        )
        self.stdout.write(f"{company}: {figures(plan)}")
        if plan.run and plan.run.error:
            self.stdout.write(f"note: {plan.run.error}")
        for hold in plan.holds:
            self.stdout.write(f"hold: {hold_sentence(hold)}")
        if plan.run and plan.run.freed:
            self.stdout.write(f"{len(plan.run.freed)} tasks inside the freeze could not stay")
        if plan.run and plan.run.unreported:
            self.stdout.write(
                f"{plan.run.unreported} past tasks count as done as planned, as nobody has said "
                "otherwise: manage.py unreported lists them, manage.py report says how it was"
            )
        if plan.holds and not plan.tasks.exists():
            raise CommandError("nothing could be planned; the holds above say why")
        self.stdout.write("manage.py publish shows it to the crews")
