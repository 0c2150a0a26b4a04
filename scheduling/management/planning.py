"""What the planning commands share: the moment to plan from, and a run with its outcome."""

import argparse
from datetime import date, datetime, time
from zoneinfo import ZoneInfo

from django.core.management.base import CommandError, CommandParser
from django.utils import timezone

from finishing.models import Company
from finishing.services.typed_numbers import number_of
from scheduling.models import Plan
from scheduling.queries.summary import plan_summary
from scheduling.services.engine import EngineError
from scheduling.services.replan import (
    AFRESH_SECONDS,
    OvertakenError,
    request_run,
    run_replan,
)


def add_today(parser: CommandParser) -> None:
    """Add ``--today``, which plans as on the morning of a day instead of now."""
    parser.add_argument(
        "--today", type=iso_day, metavar="YYYY-MM-DD", help="act as on this day (default: now)"
    )


def add_budget(parser: CommandParser, seconds: float | None = AFRESH_SECONDS) -> None:
    """Add the options that say how long to plan; ``seconds`` None for what is usual."""
    parser.add_argument(
        "--seconds", type=positive, default=seconds, help="time to improve the plan"
    )
    parser.add_argument("--seed", type=counting, default=1, help="seed of the search")
    parser.add_argument(
        "--work", type=counting, help="rounds instead of seconds: the same plan on every machine"
    )


def iso_day(text: str) -> date:
    """Return a day; argparse reports anything else."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text!r} is not a day like 2026-03-02") from None


def counting(text: str) -> int:
    """Return a whole number from 1 to two thousand million; argparse reports anything else."""
    if not text.isdecimal() or not 1 <= int(text) <= 2_000_000_000:
        raise argparse.ArgumentTypeError(f"{text!r} is not a whole number above 0")
    return int(text)


def figure(text: str) -> float:
    """Return a number, "nan" too, which is judged with all else; argparse reports anything else,
    also "1_0", which Python itself would read as ten."""
    if "_" in text:
        raise ValueError(text)
    return float(text)


def positive(text: str) -> float:
    """Return a number above zero; argparse reports anything else."""
    try:
        number = number_of(text)
    except ValueError:
        number = 0.0
    if not 0 < number < float("inf"):
        raise argparse.ArgumentTypeError(f"{text!r} is not a number of seconds above 0")
    return number


def moment_of(company: Company, today: date | None) -> datetime:
    """Return now, or the first minute of a day where the company is."""
    if today is None:
        return timezone.now()
    return datetime.combine(today, time.min, tzinfo=ZoneInfo(company.zone))


def plan_company(
    company: Company, plan_from: datetime, *, seconds: float | None, seed: int, work: int | None
) -> Plan:
    """Plan a company and return the stored plan; end the command where nothing can be planned."""
    run = request_run(company=company, plan_from=plan_from, seconds=seconds, seed=seed, work=work)
    try:
        plan = run_replan(run_id=run.pk)
    except (EngineError, OvertakenError) as error:
        raise CommandError(f"no plan: {error}") from None
    except KeyboardInterrupt:
        raise CommandError("stopped; the plan is as it was", returncode=130) from None
    if plan is None:
        raise CommandError("no plan: another one was asked for meanwhile")
    return plan


def figures(plan: Plan) -> str:
    """Return one line of a plan's figures."""
    found = plan_summary(plan)
    return (
        f"{found.houses} houses, {found.coats} room coats in {found.tasks} tasks, "
        f"{found.crews} crews, {found.days} days, {found.visits} visits, "
        f"{found.idle_hours:.1f} idle hours within days, "
        f"{found.late_handovers} late handovers ({found.lateness_days:.1f} weighted days), "
        f"{found.held_handovers} on hold"
    )
