"""Every code has words; sentences say what their values say."""

from datetime import UTC, datetime
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from finishing.rules.cautions import Caution
from finishing.rules.practice import Tool
from finishing.rules.readiness import ODD_JOB
from finishing.rules.vocabulary import JointKind, Readiness, Stage
from scheduling.cautions_wording import caution_text, defer_text
from scheduling.solver.reason import PLAINEST_LAST
from scheduling.wording import (
    chain_sentence,
    figure,
    governs_name,
    handover_sentence,
    hold_sentence,
    joint_name,
    lateness,
    moment,
    quantity,
    readiness_name,
    ready_sentence,
    stage_name,
    tool_name,
    why_sentence,
)

DUBLIN = ZoneInfo("Europe/Dublin")


@pytest.mark.parametrize("stage", [*Stage, ODD_JOB])
def test_every_stage_has_a_name(stage: str) -> None:
    assert stage_name(stage)[0].isupper()


@pytest.mark.parametrize("kind", JointKind)
def test_every_joint_kind_has_a_name(kind: str) -> None:
    assert joint_name(kind) != kind


@pytest.mark.parametrize("tool", Tool)
def test_every_tool_has_a_name(tool: str) -> None:
    assert "_" not in tool_name(tool)


@pytest.mark.parametrize("item", Readiness)
def test_every_readiness_item_has_a_name(item: str) -> None:
    assert "_" not in readiness_name(item)


@pytest.mark.parametrize("caution", Caution)
def test_every_caution_has_a_text_that_promises_nothing(caution: str) -> None:
    words = caution_text(caution).lower().split()
    assert len(words) > 5
    assert not {"compliant", "safe", "safely"} & {word.strip(".,:;") for word in words}


def test_cautions_defer_to_local_codes_and_licensed_practice() -> None:
    assert "Local codes and licensed practice decide" in defer_text()


@pytest.mark.parametrize(
    "name", [stage_name, joint_name, tool_name, readiness_name, caution_text, governs_name]
)
def test_an_unknown_code_is_shown_as_it_is(name: Any) -> None:
    assert name("from_the_future") == "from_the_future"


def test_moments_are_local_on_both_sides_of_a_clock_change() -> None:
    """Directive 2000/84/EC: Irish clocks go forward at 01:00 UTC on 29 March 2026."""
    assert moment(datetime(2026, 3, 28, 9, tzinfo=UTC), DUBLIN) == "Sat 28 Mar 09:00"
    assert moment("2026-03-29T09:00:00+00:00", DUBLIN) == "Sun 29 Mar 10:00"


@pytest.mark.parametrize(
    ("value", "said"),
    [(12.0, "12 m"), (12.34, "12.3 m"), (0.04, "0 m"), (-0.04, "0 m"), (99.96, "100 m")],
)
def test_figures_have_one_decimal_where_they_need_one(value: float, said: str) -> None:
    assert quantity(value, "m") == said
    assert figure(value) + " m" == said


READY = datetime(2026, 3, 5, 9, tzinfo=UTC)


@pytest.mark.parametrize(
    ("hardening", "governs", "air", "said"),
    [
        ("dries", "air", "record", "planned dry Thu 5 Mar 09:00, by the air on record"),
        ("dries", "air", "reading", "planned dry Thu 5 Mar 09:00, by the air as read in the house"),
        (
            "dries",
            "air",
            "logger",
            "planned dry Thu 5 Mar 09:00, by the air as logged in the house",
        ),
        ("dries", "air", "forecast", "planned dry Thu 5 Mar 09:00, by the air as forecast"),
        ("dries", "air", "assumed", "planned dry Thu 5 Mar 09:00, by the air as assumed"),
        ("dries", "rule", "", "planned dry Thu 5 Mar 09:00, by the rule"),
        ("sets", "set", "record", "planned set Thu 5 Mar 09:00"),
    ],
)
def test_what_a_task_leaves(hardening: str, governs: str, air: str, said: str) -> None:
    details = {"hardening": hardening, "leaves": {"governs": governs, "air": air}}
    assert ready_sentence(READY, details, DUBLIN) == said
    assert ready_sentence(READY.isoformat(), details, DUBLIN) == said
    assert ready_sentence(None, details, DUBLIN) == ""


def test_why_not_earlier() -> None:
    wait = {
        "code": "wait",
        "other": "0198:tape:2",
        "reason": "rule",
        "ready_at": READY.isoformat(),
        "room": "Hall",
    }
    assert why_sentence(wait, DUBLIN) == (
        "Waits for: Tape coat (Hall), ready Thu 5 Mar 09:00 by the rule."
        " Planned: check that it is dry before coating."
    )
    assert "check that it is set" in why_sentence(wait | {"reason": "set"}, DUBLIN)
    assumed = why_sentence(wait | {"reason": "air", "air": "assumed"}, DUBLIN)
    assert "ready Thu 5 Mar 09:00 by the air as assumed." in assumed
    order = wait | {"reason": "order", "ready_at": None}
    assert why_sentence(order, DUBLIN) == "Comes after: Tape coat (Hall)"
    busy = {"code": "crew", "other": "0198:tape", "room": "Hall", "house": "Weir House"}
    assert why_sentence(busy, DUBLIN) == (
        "The crew is at work until then: Tape coat (Hall, Weir House)"
    )
    assert why_sentence({"code": "eclipse", "other": ""}, DUBLIN) == "Eclipse"
    assert why_sentence(None, DUBLIN) == why_sentence({}, DUBLIN) == ""


@pytest.mark.parametrize("code", [*PLAINEST_LAST, "started", "frozen", "together", "free"])
def test_every_reason_of_the_solver_has_words(code: str) -> None:
    assert len(why_sentence({"code": code}, DUBLIN).split()) > 3


HOLD = {"house": "Mill Cottage", "area": "Loft", "stages": ["tape", "second"], "tasks": 3}


@pytest.mark.parametrize(
    ("values", "said"),
    [
        (
            {"code": "too_cold", "heat_on_by": "2026-03-07"},
            "the air is too cold for it, heat on by Sat 7 Mar",
        ),
        (
            {
                "code": "not_ready",
                "items": [
                    {"item": "power", "owed_by": "the builder"},
                    {"item": "way_in", "owed_by": ""},
                ],
            },
            "the house is not ready, power (owed by the builder), way in",
        ),
        ({"code": "no_room"}, "the crews' time is taken"),
        ({"code": "eclipse"}, "eclipse"),
    ],
)
def test_holds(values: dict[str, Any], said: str) -> None:
    sentence = hold_sentence(HOLD | values)
    assert sentence == f"Mill Cottage, Loft · Tape coat, Second coat: {said}"


def test_an_odd_job_that_is_held_is_named() -> None:
    hold = {"code": "no_crew", "house": "Mill Cottage", "stages": [], "job": "Patch by the boiler"}
    assert hold_sentence(hold) == "Mill Cottage · Patch by the boiler: no crew can do this"


def test_handovers() -> None:
    promise = {"house": "Mill Cottage", "areas": ["Loft"], "due_on": "2026-03-06"}
    met = {"met_at": "2026-03-05T09:00:00+00:00", "late_minutes": 0}
    due = "Mill Cottage (Loft): due Fri 6 Mar"
    assert handover_sentence(promise | met, DUBLIN) == f"{due}, ready Thu 5 Mar 09:00"
    late = {"met_at": "2026-03-08T09:00:00+00:00", "late_minutes": 33 * 60}
    assert handover_sentence(promise | late, DUBLIN) == (
        f"{due}, ready Sun 8 Mar 09:00, 2 days late"
    )
    assert handover_sentence(promise | {"met_at": None, "late_minutes": 0}, DUBLIN) == (
        f"{due}, cannot be met as planned"
    )


def test_chain_says_each_task_its_reason_and_what_is_behind_it() -> None:
    wait = {
        "code": "wait",
        "reason": "air",
        "other": "room-1:tape",
        "ready_at": "2026-03-06T19:00:00+00:00",
        "room": "Hall",
        "house": "",
    }
    link = {
        "task": "room-2:second",
        "room": "Kitchen",
        "house": "Mill Cottage",
        "starts_at": "2026-03-09T07:00:00+00:00",
        "why": {"code": "window", "reason": "", "other": ""},
        "behind": wait,
    }
    assert chain_sentence(link, DUBLIN) == (
        "Second coat, Kitchen, Mill Cottage, Mon 9 Mar 07:00: The crew's working hours begin then. "
        "Waits for: Tape coat (Hall), ready Fri 6 Mar 19:00 by the air"
    )
    dries = {"why": {"code": "dries", "ready_at": "2026-03-10T07:00:00+00:00"}, "behind": {}}
    assert chain_sentence(link | dries, DUBLIN) == (
        "Second coat, Kitchen, Mill Cottage: dry or set only Tue 10 Mar 07:00"
    )


@pytest.mark.parametrize(
    ("minutes", "said"),
    [(1, "1 hour late"), (61, "2 hours late"), (1440, "24 hours late"), (1441, "2 days late")],
)
def test_lateness_rounds_up(minutes: int, said: str) -> None:
    assert lateness(minutes) == said
