"""manage.py solve_instance"""

import json
from argparse import ArgumentTypeError
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from scheduling.management.planning import add_budget
from scheduling.services.engine import EngineError
from scheduling.services.instances import InstanceFaultsError, read_instance
from scheduling.services.solved_instance import SolvedInstance, Verdict, solve_problem
from scheduling.solver.outcome import Limits, Score

BAD_INPUT = 2
PLACEMENT = ("task", "crew", "start", "end", "way")


class Command(BaseCommand):
    help = (
        "Solve one problem file without a database. Exit status: 0 a verified plan, "
        "2 bad input, 3 proved impossible, 4 no plan found for every task, but not proved."
    )
    requires_system_checks = ()

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "file", type=Path, help="fixtures/instances/problem.schema.json says how"
        )
        add_budget(parser)
        parser.add_argument("--workers", type=_workers, default=2, help="threads of the solver")
        parser.add_argument("--json", action="store_true", help="everything, the plan included")

    def handle(self, *_: Any, **options: Any) -> None:
        try:
            problem = read_instance(file=options["file"])
        except InstanceFaultsError as faults:
            raise CommandError(str(faults), returncode=BAD_INPUT) from None
        work = options["work"]
        limits = Limits(
            seconds=None if work is not None else options["seconds"],
            work=work,
            workers=1 if work is not None else options["workers"],
            seed=options["seed"],
        )
        try:
            solved = solve_problem(problem=problem, limits=limits)
        except EngineError as error:
            raise CommandError(f"no plan: {error}", returncode=Verdict.NOT_FOUND) from None
        if options["json"]:
            self.stdout.write(json.dumps(_as_json(solved), indent=1))
        else:
            self.stdout.write("\n".join(_lines(solved)))
        if solved.verdict is not Verdict.PLANNED:
            raise CommandError(_reason(solved), returncode=solved.verdict)


def _workers(text: str) -> int:
    if not text.isascii() or not text.isdigit() or not 1 <= int(text) <= 64:
        raise ArgumentTypeError(f"{text!r} is not a number of workers from 1 to 64")
    return int(text)


def _as_json(solved: SolvedInstance) -> dict[str, Any]:
    outcome = solved.outcome
    return {
        "verdict": solved.verdict.name.lower(),
        "score": _score(outcome.score),
        "bound": outcome.bound,
        "gap": solved.gap,
        "first_plan_seconds": solved.first_plan_seconds,
        "seconds": solved.seconds,
        "history": [
            {"seconds": step.seconds, "by": step.by, **_score(step.score)}
            for step in outcome.history
        ],
        "violations": [
            {"code": fault.code, "task": fault.task, "other": fault.other}
            for fault in solved.violations
        ],
        "unplaced": [
            {"task": item.task, "code": item.code, "other": item.other} for item in outcome.unplaced
        ],
        "impossible": [item.task for item in solved.impossible],
        "placements": [
            {name: getattr(place, name) for name in PLACEMENT} for place in outcome.placements
        ],
        "note": solved.note,
    }


def _score(score: Score) -> dict[str, int]:
    return {"lateness": score.lateness, **score._asdict()}


def _lines(solved: SolvedInstance) -> list[str]:
    outcome = solved.outcome
    score, faults = outcome.score, len(solved.violations)
    lines = [
        f"lateness {score.lateness}, extra windows {score.extra}",
        f"cost {score.cost} (at least {outcome.bound}, gap {solved.gap:.1%})",
        f"visits {score.visits}, idle minutes {score.idle}, finish {score.finish}",
        f"first plan after {solved.first_plan_seconds:.3f} s, {solved.seconds:.1f} s in all",
    ]
    lines += [
        f"  {step.seconds:8.3f} s  {step.by:<12} {tuple(step.score)}" for step in outcome.history
    ]
    lines.append(f"verified: {faults} rules broken" if faults else "verified: every rule kept")
    return [*lines, solved.note] if solved.note else lines


def _reason(solved: SolvedInstance) -> str:
    if solved.verdict is Verdict.IMPOSSIBLE:
        said, items = "proved impossible", solved.impossible
    else:
        said, items = "no place found, but not proved to be impossible", solved.outcome.unplaced
    return "\n".join([f"{said}:", *(f"  {i.task}: {i.code} {i.other}".rstrip() for i in items)])
