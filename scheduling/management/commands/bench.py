"""``manage.py bench``: how strong and how quick the planning engine is on this machine."""

import time
from argparse import ArgumentParser
from dataclasses import replace
from typing import Any

from django.core.management.base import BaseCommand

from scheduling.bench.strength import CASES, GROWTH, HEADER, measured, row


class Command(BaseCommand):
    """Print medians over instances: lateness against one greedy rule and a plain CP-SAT model."""

    help = "Measure the planning engine: strength, first plan, growth (takes minutes)"

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--instances", type=int, default=5, help="seeds per size")
        parser.add_argument("--workers", type=int, default=2, help="threads of CP-SAT")
        parser.add_argument("--tasks", type=int, help="only the size with so many tasks")
        parser.add_argument("--seconds", type=float, help="instead of each size's own time")
        parser.add_argument("--growth", action="store_true", help="more sizes, engine alone")

    def handle(self, *_: Any, **options: Any) -> None:
        self.stdout.write(HEADER)
        for case in GROWTH if options["growth"] else CASES:
            if options["tasks"] not in {None, case.tasks}:
                continue
            seconds = options["seconds"] or case.seconds
            timed = replace(case, seconds=seconds)
            results = [
                measured(timed, seed, options["workers"], time.monotonic, not options["growth"])
                for seed in range(1, options["instances"] + 1)
            ]
            self.stdout.write(row(timed, results))
            self.stdout.flush()
