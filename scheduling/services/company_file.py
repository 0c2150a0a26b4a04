"""What a file of a whole company holds: each kind of row is decided on here, kept or left out.

Rows name each other by public id, so that a file means the same in every database.
"""

from collections.abc import Mapping
from typing import Any

from django.apps import apps
from django.db.models import Field, ForeignKey

from finishing.models import Company
from finishing.models.owned import Row

FORMAT, VERSION = "coatweave company", 1
"""A file of another version is refused: a change of the rows that old files cannot be read after
is a new version, with what reads the old one beside it."""

CAME_LATER: Mapping[str, frozenset[str]] = {
    "finishing.Quote": frozenset({"setpoint_c", "heated_from"}),
}
"""By kind of row the fields that files written before they came do not have: they are as in a row
that nothing was said of."""

KEPT = frozenset(
    [
        "finishing.Company",
        "finishing.User",
        "finishing.Invitation",
        "finishing.Deed",
        "finishing.Change",
        "finishing.Note",
        "finishing.Compound",
        "finishing.JointingSystem",
        "finishing.SystemStage",
        "finishing.LabourRate",
        "finishing.PayTerm",
        "finishing.BuilderLine",
        "finishing.PlacingRate",
        "finishing.Supply",
        "finishing.StockLine",
        "finishing.Price",
        "finishing.Quote",
        "finishing.Crew",
        "finishing.CrewMember",
        "finishing.CrewHours",
        "finishing.ExtraHours",
        "finishing.DayOff",
        "finishing.Loan",
        "finishing.Holiday",
        "finishing.Dryer",
        "finishing.AirSource",
        "finishing.AirDay",
        "finishing.ForecastEnsemble",
        "finishing.ForecastIssue",
        "finishing.House",
        "finishing.Area",
        "finishing.Room",
        "finishing.Surface",
        "finishing.JointLine",
        "finishing.ReadinessLine",
        "finishing.Closure",
        "finishing.CoatDone",
        "finishing.OddJob",
        "finishing.SentReading",
        "scheduling.Scenario",
        "scheduling.PlanRun",
        "scheduling.Plan",
        "scheduling.PlannedTask",
        "scheduling.CompanyPlans",
        "scheduling.Publication",
        "scheduling.Visit",
        "scheduling.VisitPerson",
        "scheduling.ToldHandover",
        "scheduling.HouseRevision",
        "scheduling.Report",
        "scheduling.SentReport",
        "scheduling.Obstacle",
        "scheduling.ExtraWork",
        "scheduling.DeclinedRates",
        "scheduling.Pin",
        "scheduling.SeenPublication",
        "scheduling.FeedLink",
        "scheduling.CrewPage",
        "scheduling.FormerSecret",
        "scheduling.FormerPageSecret",
        "scheduling.Webhook",
        "scheduling.CalendarPush",
        "scheduling.PushedEntry",
        "scheduling.Outgoing",
    ]
)
LEFT_OUT: Mapping[str, str] = {
    "finishing.ApiToken": "tokens: programs are given new ones",
    "finishing.SentRequest": "answers kept for a day for programs that ask twice, by their tokens",
    "finishing.UserSession": "where people are signed in",
    "finishing.FailedSignIns": "of no company",
    "finishing.FirstCode": "of the installation",
    "finishing.PhoneKey": "the secret of a second step of signing in",
    "finishing.WrittenCode": "codes of a second step of signing in",
}
FIELDS_LEFT_OUT: Mapping[str, frozenset[str]] = {
    "finishing.User": frozenset({"password", "last_login", "is_staff", "is_superuser"}),
    "finishing.Invitation": frozenset({"program"}),
    "scheduling.PlanRun": frozenset({"problem_cut"}),
    "scheduling.Webhook": frozenset({"secret", "former_secret", "former_until"}),
    "scheduling.CalendarPush": frozenset({"password"}),
}
"""Passwords and secrets, tokens by name, what somebody may do on the server itself, and which
problems are cut down, which they soon are again. Links keep their hashes, so that addresses that
were given out go on working."""


def kept_models() -> list[type[Row]]:
    """Return the kinds of rows of a file, each behind those that it names as far as that goes:
    where some name each other in a circle, one that can do without stands before."""
    waiting: list[Any] = [apps.get_model(label) for label in sorted(KEPT)]
    placed: list[type[Row]] = []
    while waiting:
        ready = next((m for m in waiting if not _missing(m, placed, needed=False)), None)
        model = ready or next(m for m in waiting if not _missing(m, placed, needed=True))
        waiting.remove(model)
        placed.append(model)
    return placed


def kept_fields(model: type[Row]) -> "list[Field[Any, Any]]":
    """Return the fields of a row that stand in a file; its company is the file's."""
    left_out = FIELDS_LEFT_OUT.get(model._meta.label, frozenset()) | {"id", "company"}
    return [field for field in model._meta.concrete_fields if field.name not in left_out]


def references(model: type[Row]) -> "list[ForeignKey[Any, Any]]":
    """Return the fields of a row that name another row of the file."""
    return [field for field in kept_fields(model) if isinstance(field, ForeignKey)]


def _missing(model: type[Row], placed: list[type[Row]], *, needed: bool) -> bool:
    """Return whether a row of this kind names one of a kind not yet placed. needed: only where it
    cannot do without."""
    return any(
        target not in (*placed, model, Company)
        for field in references(model)
        if isinstance(target := field.related_model, type) and not (needed and field.null)
    )
