"""``manage.py bench``: how strong and how quick the planning engine is on this machine."""

import time
from argparse import ArgumentParser
from dataclasses import replace
from typing import Any

from django.core.management.base import BaseCommand

from scheduling.bench import replans, strength
from scheduling.bench.changes import UPSETS
from scheduling.services.replan import PROPOSAL_SECONDS
from scheduling.solver.outcome import Limits


class Command(BaseCommand):
    """Print medians over instances: lateness against one greedy rule and a plain CP-SAT model;
    or how long replans take and what they propose."""

    help = "Measure the planning engine: strength, first plan, growth, replans (takes minutes)"

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--instances", type=int, default=5, help="seeds per size")
        parser.add_argument("--workers", type=int, default=2, help="threads of CP-SAT")
        parser.add_argument("--tasks", type=int, help="only the size with so many tasks")
        parser.add_argument("--seconds", type=float, help="instead of each size's own time")
        parser.add_argument("--growth", action="store_true", help="more sizes, engine alone")
        parser.add_argument("--replan", action="store_true", help="proposals after a change")

    def handle(self, *_: Any, **options: Any) -> None:
        if options["replan"]:
            self._replan(options)
        else:
            self._strength(options)

    def _strength(self, options: dict[str, Any]) -> None:
        self._say(strength.HEADER)
        for case in strength.GROWTH if options["growth"] else strength.CASES:
            if options["tasks"] not in {None, case.tasks}:
                continue
            timed = replace(case, seconds=options["seconds"] or case.seconds)
            results = [
                strength.measured(
                    timed, seed, options["workers"], time.monotonic, not options["growth"]
                )
                for seed in _seeds(options)
            ]
            self._say(strength.row(timed, results))

    def _replan(self, options: dict[str, Any]) -> None:
        self._say(replans.HEADER)
        limits = Limits(seconds=options["seconds"] or PROPOSAL_SECONDS, workers=options["workers"])
        for size in replans.SIZES:
            if options["tasks"] not in {None, size.tasks}:
                continue
            towns = [replans.planned_town(size, seed, time.monotonic) for seed in _seeds(options)]
            for upset in UPSETS:
                results = [replans.replanned(one, upset, limits, time.monotonic) for one in towns]
                self._say(replans.row(size, upset, results))

    def _say(self, line: str) -> None:
        self.stdout.write(line)
        self.stdout.flush()


def _seeds(options: dict[str, Any]) -> range:
    return range(1, options["instances"] + 1)
