"""What all tests share."""

import gc
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import suppress
from types import SimpleNamespace

import pytest
from django.conf import settings as site
from django.core.cache import cache
from django.test import TransactionTestCase
from hypothesis import HealthCheck, settings

from scheduling import jobs
from scheduling.services import house_climates, kept_answers, quote_promise, quote_runs
from scheduling.services.child import Child
from scheduling.services.engine import Solved
from scheduling.services.fetches import FETCHES
from scheduling.services.kept_answers import Of
from scheduling.solver.construct import construct
from scheduling.solver.outcome import Outcome
from scheduling.solver.problem import Problem
from tests.emptied import empty_tables
from tests.examples import SOAK
from tests.kept_climates import kept_climate
from tests.solved_here import answers_here, answers_of_a_process

# Who wants no compiled files beside the code has them with what else is this machine's own. With
# none at all every worker, and every child that solves, compiles what it imports: up to 2 seconds.
if os.environ.pop("PYTHONDONTWRITEBYTECODE", ""):
    sys.dont_write_bytecode = False
    sys.pycache_prefix = os.environ["PYTHONPYCACHEPREFIX"] = str(site.VAR_DIR / "compiled")

gc.disable()  # nothing goes while tests are loaded; what is loaded then stays


def pytest_collection_finish() -> None:
    """Set aside what is loaded, and look for garbage among the rest less often: it took a tenth of
    the time of all tests."""
    gc.freeze()
    gc.set_threshold(50_000)
    gc.enable()


site.FEED_DIR = site.VAR_DIR / "feeds-of-tests"  # a row of a test is nobody's calendar
site.WHITENOISE_AUTOREFRESH = True  # or every client of a test reads through all static files
kept_answers.AT_MOST_S = 7 * 24 * 3600  # as it ends a page has to come again, and no test does
quote_promise.HISTORIES = 10  # enough to see what one comes to
site.RUN_LEASE_SECONDS = 3600  # its thread does not get at what a test has not committed

# The same examples on every machine and in every run: a red run is one that can be repeated.
# To look further, run them with COATWEAVE_SOAK set, as .ci/run does (examples.py). How slow the
# machine is at drawing them is no fault of the code.
settings.register_profile(
    "repeatable",
    max_examples=100 if SOAK in os.environ else 30,
    derandomize=True,
    database=None,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("repeatable")


class AtOnce[Job]:
    """Stands where a thread does that no page waits for: what it does is done when asked for."""

    def __init__(self, work: Callable[[Job], None]) -> None:
        self._work = work

    def start(self, job: Job) -> None:
        with suppress(Exception):  # the thread notes it; the page finds it again and is told why
            self._work(job)


class Started:
    """Stands where the thread does that makes plans, and only notes what it is given."""

    def __init__(self) -> None:
        self.runs: list[int] = []

    def start(self, run_id: int) -> None:
        self.runs.append(run_id)


@pytest.fixture(autouse=True, scope="session")
def _in_a_moment() -> Iterator[None]:
    """Have no test wait for what is not its own: how Django empties a database, a process for each
    search, the air of a house that another test has worked out."""
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(TransactionTestCase, "_fixture_teardown", empty_tables)
        patched.setattr(Child, "_answers", answers_here)
        patched.setattr(house_climates, "climate_of", kept_climate)
        yield


@pytest.fixture
def started_child(monkeypatch: pytest.MonkeyPatch) -> None:
    """Have every search done by a child process, as it is outside of tests."""
    monkeypatch.setattr(Child, "_answers", answers_of_a_process)


@pytest.fixture(autouse=True)
def _no_fetches_of_others(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let no test write what calendars another's rows were fetched by."""
    monkeypatch.setattr(FETCHES, "_by_feed", {})


@pytest.fixture(autouse=True)
def _answers_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nobody else sees what a test has not committed."""
    monkeypatch.setattr(jobs, "ANSWERS", AtOnce(jobs.find_answer))
    monkeypatch.setattr(jobs, "TELLING", AtOnce(jobs.tell_published))


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[tuple[int, str, Of]]:
    """What pages come again for, and nobody finds unless the test itself does; nothing is kept."""
    asked: list[tuple[int, str, Of]] = []
    cache.clear()
    monkeypatch.setattr(jobs, "ANSWERS", SimpleNamespace(start=asked.append))
    return asked


@pytest.fixture
def started(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """The runs (pk) that were started, and that nobody does unless the test itself does."""
    started = Started()
    for thread in ("HERE", "BESIDE", "QUOTES"):
        monkeypatch.setattr(jobs, thread, started)
    return started.runs


@pytest.fixture
def unsearched(monkeypatch: pytest.MonkeyPatch) -> None:
    """Quotes are worked out with the first plan there is, made in this process: in a moment."""

    def solved(
        problem: Problem, *_: object, on_better: Callable[[Outcome], None], **__: object
    ) -> Solved:
        first = construct(problem)
        on_better(first)
        return Solved(first)

    monkeypatch.setattr(quote_runs, "solve", solved)


@pytest.fixture(scope="session")
def django_db_modify_db_settings(
    request: pytest.FixtureRequest, django_db_modify_db_settings_parallel_suffix: None
) -> None:
    """Give tests with a running server a database in a file: pages ask for two parts at once, and
    one in memory has a single connection for all the threads that answer."""
    served = request.config.getoption("markexpr")
    if served in ("browser", "clients"):
        worker = os.environ.get("PYTEST_XDIST_WORKER", "alone")
        file = site.VAR_DIR / f"{served}-tests-{worker}.sqlite3"
        test = site.DATABASES["default"].setdefault("TEST", {})
        assert isinstance(test, dict)
        test["NAME"] = str(file)
