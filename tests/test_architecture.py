"""The pure packages stay pure, in a fresh interpreter."""

import subprocess
import sys

import pytest

HEAVY = ("django", "rest_framework", "celery", "redis")


def modules_after(imports: str) -> set[str]:
    """Return the modules loaded once ``imports`` has run."""
    program = f"import sys\n{imports}\nprint(*sys.modules)"
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    return set(done.stdout.split())


@pytest.mark.parametrize(
    ("package", "kept_out"),
    [
        ("finishing.rules", (*HEAVY, "ortools", "icalendar", "holidays")),
        ("scheduling.solver", (*HEAVY, "icalendar", "finishing")),
    ],
)
def test_pure_packages_load_nothing_heavy(package: str, kept_out: tuple[str, ...]) -> None:
    imports = (
        "import importlib, pkgutil\n"
        f"package = importlib.import_module({package!r})\n"
        "for module in pkgutil.iter_modules(package.__path__):\n"
        "    if module.name != '__main__':\n"
        f"        importlib.import_module({package!r} + '.' + module.name)\n"
    )
    assert modules_after(imports).isdisjoint(kept_out)


@pytest.mark.parametrize(
    "modules", ["scheduling.ics", "api.web.coat_charts, api.web.figure_charts"]
)
def test_calendar_bytes_and_charts_need_no_django(modules: str) -> None:
    assert modules_after(f"import {modules}").isdisjoint(HEAVY)


@pytest.mark.parametrize(
    "asked",
    [
        "finishing.config.wsgi, finishing.config.urls",
        "django; django.setup(); import scheduling.services.replan",
        "django; django.setup(); import scheduling.services.explain_house",
        "django; django.setup(); import scheduling.jobs",
    ],
)
def test_web_process_loads_nothing_heavy_that_it_may_never_need(asked: str) -> None:
    imports = (
        "import os\n"
        "os.environ['DJANGO_SETTINGS_MODULE'] = 'finishing.config.settings'\n"
        f"import {asked}\n"
    )
    assert modules_after(imports).isdisjoint({"ortools", "celery", "redis", "numpy.random"})


def test_web_process_loads_nothing_large_that_few_requests_need() -> None:
    imports = (
        "import os\n"
        "os.environ['DJANGO_SETTINGS_MODULE'] = 'finishing.config.settings'\n"
        "import finishing.config.wsgi, finishing.config.urls\n"
    )
    large = {"httpx", "PIL", "holidays", "segno", "caldav", "cryptography"}
    assert modules_after(imports).isdisjoint(large)


def test_pages_and_the_api_answer_without_what_describes_the_api_and_what_tests_need() -> None:
    """Of what is asked here nothing needs a database."""
    asked = (
        "import os\n"
        "from wsgiref.util import setup_testing_defaults\n"
        "os.environ['DJANGO_SETTINGS_MODULE'] = 'finishing.config.settings'\n"
        "from finishing.config.wsgi import application\n"
        "for address, status in (('/password/forgotten/', '200'), ('/api/v1/houses/', '401')):\n"
        "    asked, said = {'PATH_INFO': address, 'HTTP_HOST': 'localhost'}, []\n"
        "    setup_testing_defaults(asked)\n"
        "    application(asked, lambda *begun: said.extend(begun))\n"
        "    assert said[0].startswith(status), said\n"
    )
    unasked = {"drf_spectacular.plumbing", "django.test", "unittest", "iso4217", "ortools"}
    assert modules_after(asked).isdisjoint(unasked)


def test_a_search_where_all_is_on_time_waits_for_no_library() -> None:
    """They take longer to load than such a search takes."""
    search = (
        "from scheduling.solver.outcome import Limits\n"
        "from scheduling.solver.solve import solve\n"
        "from tests.scheduling.solver.streets import street\n"
        "problem = street(houses=2, rooms=2, crews=1, slack=40)\n"
        "plan = solve(problem, Limits(work=20), lambda: 0.0)\n"
        "assert plan.score.lateness == 0 and not plan.unplaced\n"
    )
    assert modules_after(search).isdisjoint({"numpy", "ortools", "pandas"})
