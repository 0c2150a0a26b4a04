"""All that the environment may set, read once, each as what it is."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from finishing.config.database import database
from finishing.config.hosts import AllowedHosts, allowed_hosts
from finishing.config.keys import Keys, keys
from finishing.config.logs import FORMATS
from finishing.config.mail import mailers
from finishing.config.reader import Reader, WholeNumber
from finishing.config.web import Web, web

REDIS = ("redis", "rediss")
SOLVER_MEMORY_MB = WholeNumber(default=4096, least=1, most=1_000_000)
API_PER_MINUTE = WholeNumber(default=600, least=1, most=1_000_000)
FORECAST_MINUTES = WholeNumber(default=60, least=0, most=7 * 24 * 60)
RUN_LEASE_SECONDS = WholeNumber(default=60, least=2, most=3600)
RUN_PROBLEM_DAYS = WholeNumber(default=30, least=1, most=10 * 365)


@dataclass(frozen=True)
class Environment:
    """var_dir: where the database and the machine's own keys live. The others are told of where
    ``settings.py`` puts them."""

    var_dir: Path
    debug: bool
    web: Web
    keys: Keys
    database: dict[str, Any]
    cache_url: str
    broker_url: str
    mailers: dict[str, Any]
    mail_from: str
    webhook_hosts: AllowedHosts
    caldav_hosts: AllowedHosts
    caldav_ca_file: str
    forecast_url: str
    forecast_key: str
    forecast_minutes: int
    night_plans: bool
    log_format: str
    metrics_token: str
    solver_memory_mb: int
    api_per_minute: int
    run_lease_seconds: int
    run_problem_days: int


def read_environment(environment: Mapping[str, str], *, base_dir: Path) -> Environment:
    """Return what the environment sets; end the program with one line of all that is wrong."""
    reader = Reader(environment)
    var_dir = Path(reader.text("COATWEAVE_VAR") or base_dir / "var")
    debug = reader.flag("COATWEAVE_DEBUG")
    reached = web(reader, debug=debug)
    found = Environment(
        var_dir=var_dir,
        debug=debug,
        web=reached,
        database=database(reader, var_dir=var_dir),
        cache_url=reader.address("COATWEAVE_CACHE_URL", *REDIS, secret=True),
        broker_url=reader.address("COATWEAVE_CELERY_BROKER_URL", *REDIS, secret=True),
        mailers=mailers(reader),
        mail_from=reader.text("COATWEAVE_MAIL_FROM"),
        webhook_hosts=allowed_hosts(reader, "COATWEAVE_WEBHOOK_HOSTS"),
        caldav_hosts=allowed_hosts(reader, "COATWEAVE_CALDAV_HOSTS"),
        caldav_ca_file=reader.file("COATWEAVE_CALDAV_CA_FILE"),
        forecast_url=reader.address("COATWEAVE_FORECAST_URL", "https"),
        forecast_key=reader.secret("COATWEAVE_FORECAST_KEY"),
        forecast_minutes=reader.number("COATWEAVE_FORECAST_MINUTES", FORECAST_MINUTES),
        night_plans=reader.flag("COATWEAVE_NIGHT_PLANS"),
        log_format=reader.choice("COATWEAVE_LOG_FORMAT", FORMATS),
        metrics_token=reader.secret("COATWEAVE_METRICS_TOKEN"),
        solver_memory_mb=reader.number("COATWEAVE_SOLVER_MEMORY_MB", SOLVER_MEMORY_MB),
        api_per_minute=reader.number("COATWEAVE_API_PER_MINUTE", API_PER_MINUTE),
        run_lease_seconds=reader.number("COATWEAVE_RUN_LEASE_SECONDS", RUN_LEASE_SECONDS),
        run_problem_days=reader.number("COATWEAVE_RUN_PROBLEM_DAYS", RUN_PROBLEM_DAYS),
        keys=keys(reader, var_dir=var_dir, public=bool(reached.public_host)),  # last: it may write
    )
    reader.end_where_wrong()
    return found
