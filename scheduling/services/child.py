"""The solver's child process: asked once, heard line by line, ended whatever it does."""

import json
import signal
import subprocess  # nosec B404
import sys
from collections.abc import Callable, Collection, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from queue import Empty, Queue
from threading import Thread
from time import monotonic
from typing import IO, Any

from django.conf import settings

from scheduling.solver.change import Current
from scheduling.solver.loosen import Ground
from scheduling.solver.outcome import Limits, Outcome
from scheduling.solver.plain import from_plain
from scheduling.solver.problem import Placement, Problem
from scheduling.solver.serialize import (
    current_to_json,
    fleet_to_json,
    limits_to_json,
    outcome_from_json,
    problem_to_json,
    stayed_from_json,
)
from scheduling.solver.stays import Fleet, Stayed

UNTIMED_SECONDS = 3600.0
"""For a work budget, which has no seconds of its own."""

POLL_SECONDS = 0.2
"""How long a request to stop may go unnoticed."""


class ChildEnded(Exception):  # noqa: N818 - an end, and not always a fault
    """The child came to an end before its answer was whole; the message says how."""


@dataclass(frozen=True)
class Child:
    """How the solver is started, and how much longer than its budget it may take."""

    command: tuple[str, ...] = (sys.executable, "-m", "scheduling.solver")
    grace_seconds: float = 30.0

    def outcomes(
        self, problem: Problem, limits: Limits, should_stop: Callable[[], bool]
    ) -> Iterator[Outcome]:
        """Yield every better outcome, the last included; raise ChildEnded on any other end."""
        request = {"problem": problem_to_json(problem)}
        for plans in self._answers(request, limits, should_stop, _plans):
            yield from plans

    def proposals(
        self,
        problem: Problem,
        current: Current,
        limits: Limits,
        should_stop: Callable[[], bool],
    ) -> Iterator[list[Outcome]]:
        """Yield the proposals so far whenever there are better ones, the last included; raise
        ChildEnded on any other end."""
        request = {"problem": problem_to_json(problem), "current": current_to_json(current)}
        yield from self._answers(request, limits, should_stop, _plans)

    def solved_again(
        self,
        problem: Problem,
        changed: Sequence[Problem],
        placements: Sequence[Placement],
        limits: Limits,
    ) -> Iterator[Outcome]:
        """Yield the plans of ``again.solve_again``; raise ChildEnded on any other end."""
        request = {
            "problem": problem_to_json(problem),
            "changed": [problem_to_json(other) for other in changed],
            "current": current_to_json(Current(tuple(placements))),
        }
        for plans in self._answers(request, limits, _go_on, _plans):
            yield from plans

    def stays(
        self,
        problem: Problem,
        fleet: Fleet,
        placements: Sequence[Placement],
        limits: Limits,
    ) -> Stayed:
        """Return where dryers are to stand (``stay_search.search_stays``); raise ChildEnded."""
        request = {
            "problem": problem_to_json(problem),
            "fleet": fleet_to_json(fleet),
            "current": current_to_json(Current(tuple(placements))),
        }
        return next(self._answers(request, limits, _go_on, _stayed))

    def conflicts(
        self, problem: Problem, unplaced: Sequence[str], placed: Collection[str], limits: Limits
    ) -> Iterator[tuple[Ground, ...]]:
        """Yield for each unplaced task (id) the rules in conflict (``conflict.conflict``); raise
        ChildEnded on any other end."""
        request = {
            "problem": problem_to_json(problem),
            "unplaced": list(unplaced),
            "placed": sorted(placed),
        }
        for found in self._answers(request, limits, _go_on, _conflicts):
            yield from found

    def _answers[T](
        self,
        request: dict[str, Any],
        limits: Limits,
        should_stop: Callable[[], bool],
        read: Callable[[dict[str, Any]], T],
    ) -> Iterator[T]:
        """Yield what is read from every line of a child that is asked."""
        request["limits"] = limits_to_json(limits)
        timed = limits.seconds if limits.work is None else None
        latest = monotonic() + (timed or UNTIMED_SECONDS) + self.grace_seconds
        with subprocess.Popen(  # noqa: S603  # nosec B603
            [*self.command, "--memory-mb", str(settings.SOLVER_MEMORY_MB)],
            cwd=settings.BASE_DIR,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
        ) as process:
            # A child that does not listen must not hold up whoever looks at the clock.
            asking = Thread(target=_ask, args=(process, json.dumps(request)), daemon=True)
            asking.start()
            try:
                for line in _lines(process, latest, should_stop):
                    event, answer = _understood(line, read)
                    yield answer
                    if event == "done":
                        return
                raise ChildEnded(f"the solver ended early ({_how(process.wait())})")
            finally:
                process.kill()
                asking.join()
                with suppress(BrokenPipeError):
                    process.communicate()


def _ask(process: "subprocess.Popen[str]", request: str) -> None:
    assert process.stdin
    # A child that is already gone says so by its exit status.
    with suppress(BrokenPipeError):
        process.stdin.write(request + "\n")
        process.stdin.flush()


def _lines(
    process: "subprocess.Popen[str]", latest: float, should_stop: Callable[[], bool]
) -> Iterator[str]:
    """Yield the child's lines, looking at the clock and for a request to stop in between."""
    assert process.stdout
    heard: Queue[str] = Queue()
    Thread(target=_listen, args=(process.stdout, heard), daemon=True).start()
    while True:
        if should_stop():
            raise ChildEnded("stopped on request")
        if monotonic() > latest:
            raise ChildEnded("the solver did not end in time and was stopped")
        try:
            line = heard.get(timeout=POLL_SECONDS)
        except Empty:
            continue
        if not line:
            return
        yield line


def _listen(output: IO[str], heard: "Queue[str]") -> None:
    """Pass lines on; an empty one is the end."""
    with suppress(ValueError):  # closed by the other thread
        for line in output:
            heard.put(line)
    heard.put("")


def _understood[T](line: str, read: Callable[[dict[str, Any]], T]) -> tuple[str, T]:
    try:
        event = json.loads(line)
        return event["event"], read(event)
    except (ValueError, KeyError, TypeError):
        raise ChildEnded("the solver said something that is no plan and was stopped") from None


def _plans(event: dict[str, Any]) -> list[Outcome]:
    return [outcome_from_json(plan) for plan in event["outcomes"]]


def _stayed(event: dict[str, Any]) -> Stayed:
    return stayed_from_json(event["found"])


def _conflicts(event: dict[str, Any]) -> list[tuple[Ground, ...]]:
    return [from_plain(tuple[Ground, ...], grounds) for grounds in event["conflicts"]]


def _go_on() -> bool:
    return False


def _how(status: int) -> str:
    return f"by {signal.Signals(-status).name}" if status < 0 else f"exit status {status}"
