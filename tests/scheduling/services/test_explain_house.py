"""A late house explained: the chain, the cures and the conflicts, from rows to sentences."""

import json
import sys
from datetime import date
from io import StringIO
from zoneinfo import ZoneInfo

import pytest
from django.conf import LazySettings
from django.core.management import call_command

from finishing.models import Company, House, JointingSystem
from finishing.rules.compounds import system_faults
from finishing.rules.vocabulary import Stage
from scheduling.explain_wording import conflict_sentence, cure_sentence
from scheduling.models import Plan
from scheduling.services.child import Child
from scheduling.services.cure_changes import quicker_compounds
from scheduling.services.explain_house import Explained, explain_house
from scheduling.services.replan import request_run, run_replan
from scheduling.services.room_work import read_settings
from scheduling.solver.outcome import Limits
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db(transaction=True)

DRYING = "All-purpose drying"
WORKING = Child()


def planned(company: Company) -> Plan:
    run = request_run(company=company, plan_from=MONDAY, work=3)
    plan = run_replan(run_id=run.pk)
    assert plan is not None
    return plan


def explained(company: Company, house: House, child: Child = WORKING) -> Explained:
    limits = Limits(work=200, workers=1)
    return explain_house(
        company=company, house=house, plan=planned(company), limits=limits, child=child
    )


def late_site() -> tuple[Company, House]:
    """One room in drying compound from Monday 2 March, due on Wednesday: a coat a day (24 hours
    each, common practice, no published source) and sanding end it on Thursday."""
    return make_site(system=DRYING, handover_on=date(2026, 3, 4), temperature_c=25.0, humidity=0.3)


def test_a_setting_compound_is_found_and_told() -> None:
    found = explained(*late_site())
    assert found.promises[0]["chain"]
    by_code = {cure["code"]: cure for cure in found.what_helps.cures}
    assert "compound" in by_code
    assert by_code["compound"]["stage"] == "tape"
    # Set in hours, so that the second coat goes on the same day: a day saved, and in time.
    assert (by_code["compound"]["days_saved"], by_code["compound"]["left_minutes"]) == (1, 0)
    assert by_code["compound"]["compound"] in cure_sentence(by_code["compound"], ZoneInfo("UTC"))
    order = [(-cure["days_saved"], cure["price"]) for cure in found.what_helps.cures]
    assert order == sorted(order)


def test_the_same_work_gives_the_same_explanation() -> None:
    company, house = late_site()
    assert explained(company, house) == explained(company, house)


def test_no_compound_is_named_that_the_rules_refuse() -> None:
    company, house = late_site()
    rules = read_settings(company)
    stages = [Stage.TAPE, Stage.SECOND, Stage.FINISH]
    offered = list(quicker_compounds(house, stages, rules))
    assert offered
    system = JointingSystem.objects.get(name=DRYING)
    for stage, name in offered:
        by_stage = {**rules.systems[system.pk].by_stage, stage: name}
        tried = type(rules.systems[system.pk])(DRYING, by_stage)
        assert system_faults(tried, rules.compounds, stages=frozenset(stages)) == []
    # A hard setting coat may not go over a drying one: nothing for the second coat.
    assert {stage for stage, _ in offered} == {Stage.TAPE}


def test_cold_air_is_the_conflict_of_a_cold_house() -> None:
    company, house = make_site(temperature_c=6.0, system=DRYING)
    found = explained(company, house)
    assert found.what_helps.cures == []
    (first, *_) = found.conflicts
    assert [ground["code"] for ground in first["grounds"]] == ["starts"]
    assert conflict_sentence(first) == (
        "Tape coat, Hall: no place found, because of: the air, which must be fit for it"
    )


def test_command_prints_the_chain_and_json() -> None:
    company, house = late_site()
    planned(company)
    out = StringIO()
    call_command("explain", house.name, "--work", "60", stdout=out)
    text = out.getvalue()
    assert "Waits for: Tape coat" in text
    assert "what would help:" in text
    out = StringIO()
    call_command("explain", house.name, "--work", "60", "--json", stdout=out)
    data = json.loads(out.getvalue())
    assert data["promises"][0]["house"] == house.name
    assert data["what_helps"]["cures"]


KILLED = "import os, signal, sys\nsys.stdin.readline()\nos.kill(os.getpid(), signal.SIGKILL)"


@pytest.mark.parametrize(
    ("script", "said"),
    [
        (KILLED, "by SIGKILL"),
        ("print('[1]')", "no plan"),
        ('print(\'{"event": "done", "outcomes": []}\')', "did not verify"),
    ],
)
def test_a_dead_child_leaves_the_reason(script: str, said: str) -> None:
    found = explained(*late_site(), child=Child((sys.executable, "-c", script)))
    assert said in found.what_helps.failure
    assert found.what_helps.cures == []
    # What needs no solving is told all the same.
    assert found.promises[0]["chain"]


@pytest.mark.parametrize(
    ("script", "said"),
    [
        (KILLED, "by SIGKILL"),
        ("print('[1]')", "no plan"),
        ('print(\'{"event": "done", "conflicts": []}\')', "ended early"),
    ],
)
def test_a_dead_child_leaves_the_reason_for_a_conflict_too(script: str, said: str) -> None:
    company, house = make_site(temperature_c=6.0, system=DRYING)
    found = explained(company, house, child=Child((sys.executable, "-c", script)))
    assert found.conflicts
    assert all(said in conflict["failure"] for conflict in found.conflicts)
    assert all(conflict["grounds"] == [] for conflict in found.conflicts)
    assert conflict_sentence(found.conflicts[0]).startswith(
        "Tape coat, Hall: why it has no place could not be worked out: the solver "
    )


def test_a_child_out_of_memory_or_time_is_no_traceback(
    settings: LazySettings, started_child: None
) -> None:
    company, house = late_site()
    silent = Child((sys.executable, "-c", "import sys\nsys.stdin.read()"), grace_seconds=0.1)
    found = explain_house(
        company=company,
        house=house,
        plan=planned(company),
        limits=Limits(seconds=0.1),
        child=silent,
    )
    assert "did not end in time" in found.what_helps.failure
    settings.SOLVER_MEMORY_MB = 40
    out = StringIO()
    call_command("explain", house.name, "--work", "60", stdout=out)
    assert "what would help could not be worked out: the solver ended early" in out.getvalue()
