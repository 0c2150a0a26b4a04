"""manage.py demo: the main job on an invented company, with no service running."""

import secrets
import socket
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import CommandError, CommandParser
from django.urls import reverse
from django.utils import timezone

from finishing.management.base import CompanyCommand
from finishing.models import Company
from finishing.queries.houses import zones_of_houses
from finishing.services.demo import DemoNameTakenError, load_demo
from finishing.services.users import give_sign_in
from scheduling.dryer_wording import dryer_sentence
from scheduling.management.planning import (
    add_budget,
    add_today,
    figures,
    moment_of,
    plan_company,
)
from scheduling.models import Plan
from scheduling.queries.links import links_of_company
from scheduling.services.caution import compare_caution
from scheduling.services.comparison import Played, compare_plan
from scheduling.services.demo_history import make_up_history
from scheduling.services.demo_scenario import ask_what_if
from scheduling.services.forget import forget_plans
from scheduling.services.links import feed_address
from scheduling.services.odds import NothingPlannedError
from scheduling.services.publish import publish_plan
from scheduling.services.source_histories import TooLittleAirError
from scheduling.solver.outcome import Limits
from scheduling.wording import handover_sentence, hold_sentence

OWNER = "owner@demo.invalid"
ROWS = {
    "plan": "this plan",
    "one_house_at_a_time": "one house after another",
    "fixed_24_hours": "each coat a fixed 24 hours",
}
AIRS = {
    "average": "planned for average air",
    "eight_in_ten": "planned for 8-in-10 air",
}


class Command(CompanyCommand):
    help = "Load the invented demo company, plan and publish it, and serve the pages."

    def add_arguments(self, parser: CommandParser) -> None:
        add_budget(parser)
        add_today(parser)
        parser.add_argument("--no-serve", action="store_true", help="stop after the summary")
        parser.add_argument("--port", type=int, default=8000)

    def find_company(self, options: dict[str, Any]) -> Company:
        if not options["no_serve"]:
            refuse_taken_port(options["port"])
        try:
            return load_demo(today=options["today"] or timezone.localdate())
        except DemoNameTakenError as error:
            raise CommandError(str(error)) from None

    def work(self, company: Company, options: dict[str, Any]) -> None:
        today: date = options["today"] or timezone.localdate()
        settings.SITE_URL = f"http://127.0.0.1:{options['port']}"  # where this process serves
        plan_from = moment_of(company, today)
        forget_plans(company=company)
        budget = {name: options[name] for name in ("seconds", "seed", "work")}
        self.stdout.write(f"{company}: planning from {today:%a %d %b %Y} ...")
        plan = plan_company(company, plan_from, **budget)
        self.stdout.write(figures(plan))
        self._say_what_is_late_or_held(plan)
        self._compare(plan, Limits(**budget))
        self._compare_caution(company, plan_from, Limits(**budget))
        published = publish_plan(company=company, now=plan_from)
        self.stdout.write(
            f"\npublished revision {published.publication.revision}: "
            f"{len(published.new)} visits, {len(published.held_back)} held back"
        )
        make_up_history(company=company, now=plan_from)
        ask_what_if(company=company, now=plan_from, **budget)
        self._say_where(company)
        if not options["no_serve"]:
            call_command("runserver", f"127.0.0.1:{options['port']}", use_reloader=False)

    def _say_what_is_late_or_held(self, plan: Plan) -> None:
        zones, of_company = zones_of_houses(plan.company), ZoneInfo(plan.company.zone)
        for handover in plan.handovers:
            if handover["late_minutes"] or not handover["met_at"]:
                said = handover_sentence(handover, zones[handover["house"]])
                self.stdout.write(f"handover: {said}")
        for hold in plan.holds:
            self.stdout.write(f"hold: {hold_sentence(hold)}")
        for row in plan.dryers:
            zone = zones.get(row.get("house", ""), of_company)
            self.stdout.write(f"dryer: {dryer_sentence(row, zone, plan.company)}")

    def _compare(self, plan: Plan, limits: Limits) -> None:
        self.stdout.write("\nplayed through the same air, hour by hour:")
        self.stdout.write(
            f"{'':28}{'days':>7}{'idle h':>9}{'late':>6}{'days late':>11}{'found wet':>11}"
        )
        for code, played in compare_plan(plan=plan, limits=limits).items():
            self.stdout.write(f"{ROWS[code]:28}{_columns(played)}")
        self.stdout.write(
            "idle h: paid hours without work, set-up, wash-up or travel, until each crew's last "
            "task; found wet: visits that met a coat not yet ready and came back later"
        )

    def _compare_caution(self, company: Company, now: datetime, limits: Limits) -> None:
        try:
            odds = compare_caution(company=company, now=now, limits=limits)
        except NothingPlannedError:
            self.stdout.write("\nno odds: nothing is planned")
            return
        except TooLittleAirError as error:
            self.stdout.write(f"\nno odds: {error}")
            return
        count = odds[company.planned_air].histories
        self.stdout.write(f"\nin {count} histories of the air that may come, on average:")
        self.stdout.write(
            f"{'':28}{'days':>7}{'late':>6}{'days late':>11}{'found wet':>11}{'held':>6}"
        )
        for air, found in odds.items():
            self.stdout.write(
                f"{AIRS[air]:28}{found.mean_end_days:7.1f}{found.mean_late:6.1f}"
                f"{found.mean_late_days:11.1f}{found.mean_in_vain:11.1f}{found.held:6}"
            )
        self.stdout.write(
            "every crew keeps the order of its plan and waits where a coat is not ready; held: "
            "handovers with work that is not planned"
        )

    def _say_where(self, company: Company) -> None:
        password = secrets.token_urlsafe(9)
        give_sign_in(company=company, email=OWNER, password=password)
        self.stdout.write(f"\nweek page: {settings.SITE_URL}{reverse('web:week')}")
        self.stdout.write(f"sign in as {OWNER} with the password {password}")
        for link in links_of_company(company):
            self.stdout.write(f"feed of {link}: {feed_address(link)}")


def refuse_taken_port(port: int) -> None:
    """End the command before any work where the pages could not be served in the end."""
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind(("127.0.0.1", port))
        except OSError as error:
            reason = f"port {port} cannot be used ({error.strerror}): name another with --port"
            raise CommandError(reason) from None


def _columns(played: Played) -> str:
    return (
        f"{played.days:7.1f}{played.idle_hours:9.1f}{played.late:6}"
        f"{played.late_days:11.1f}{played.wet_arrivals:11}"
    )
