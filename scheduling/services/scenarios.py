"""Making scenarios, changing them, copying them, and discarding them with what was planned."""

from collections.abc import Iterator, Sequence
from datetime import datetime
from itertools import count

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from finishing.models import Company
from finishing.services.errors import Fault, InputFaults, faults_of_row
from finishing.services.held_company import hold_company
from finishing.services.rows import change_row, remove_row
from scheduling.models import Scenario
from scheduling.queries.plans import working_plan
from scheduling.queries.scenarios import is_adopted, scenario_plan
from scheduling.services.scenario_changes import ScenarioChange, change_json, changes_of
from scheduling.services.scenario_faults import change_faults

MOST_SCENARIOS = 30
LONGEST_NAME = 120


@transaction.atomic
def make_scenario(
    *, company: Company, name: str, now: datetime, changes: Sequence[ScenarioChange] = ()
) -> Scenario:
    """Store a scenario of the working plan; raise InputFaults with all that is wrong."""
    hold_company(company.pk)  # two that count at once
    if faults := [*_too_many(company), *name_faults(company, name)]:
        raise InputFaults([*faults, *change_faults(company, changes)])
    scenario = Scenario(
        company=company,
        name=name,
        created_at=now,
        base=working_plan(company),
        changes=_stored(company, changes),
    )
    scenario.full_clean()
    scenario.save()
    return scenario


@transaction.atomic
def edit_scenario(
    *,
    scenario: Scenario,
    version: int,
    name: str | None = None,
    changes: Sequence[ScenarioChange] | None = None,
) -> None:
    """Give a scenario another name, other changes, or both; what was planned for it stays until it
    is planned again. Raises InputFaults and StaleRowsError."""
    faults = [] if name is None else list(name_faults(scenario.company, name, scenario))
    if changes is not None:
        faults += [*adopted_faults(scenario), *change_faults(scenario.company, changes)]
    if faults:
        raise InputFaults(faults)
    values: dict[str, object] = {} if name is None else {"name": name}
    if changes is not None:
        values["changes"] = [change_json(change) for change in changes]
    try:
        change_row(scenario, version=version, values=values)
    except ValidationError as error:
        raise InputFaults(faults_of_row(error)) from None


@transaction.atomic
def copy_scenario(*, scenario: Scenario, now: datetime) -> Scenario:
    """Make another scenario with the same changes, for which nothing is planned yet."""
    taken = set(Scenario.objects.filter(company=scenario.company).values_list("name", flat=True))
    names = (
        _("%(name)s (%(n)s)") % {"name": scenario.name[: LONGEST_NAME - 8], "n": number}
        for number in count(2)
    )
    return make_scenario(
        company=scenario.company,
        name=next(name for name in names if name not in taken),
        now=now,
        changes=changes_of(scenario.changes),
    )


@transaction.atomic
def discard_scenario(*, scenario: Scenario, version: int) -> None:
    """Delete a scenario and what was planned for it; raise StaleRowsError."""
    remove_row(scenario, version=version)


def name_faults(company: Company, name: str, scenario: Scenario | None = None) -> Iterator[Fault]:
    """Yield what is wrong with a scenario's name, or a new one's."""
    if not name.strip():
        yield Fault("name", _("Give the scenario a name."))
    same = Scenario.objects.filter(company=company, name=name).first()
    if same and same != scenario:
        said = _("There is a scenario %(name)s already: give this one another name.")
        yield Fault("name", said % {"name": name})


def adopted_faults(scenario: Scenario) -> Iterator[Fault]:
    """Yield why a scenario is asked no more, if it became the working plan: what was made true once
    would be made true again."""
    if is_adopted(scenario, scenario_plan(scenario)):
        yield Fault(
            "changes",
            _("It became the working plan, and its changes are made: copy it to ask for more."),
        )


def _too_many(company: Company) -> Iterator[Fault]:
    if Scenario.objects.filter(company=company).count() >= MOST_SCENARIOS:
        said = _("There are %(n)s scenarios already: discard one first.")
        yield Fault("name", said % {"n": MOST_SCENARIOS})


def _stored(company: Company, changes: Sequence[ScenarioChange]) -> list[dict[str, object]]:
    if faults := change_faults(company, changes):
        raise InputFaults(faults)
    return [change_json(change) for change in changes]
