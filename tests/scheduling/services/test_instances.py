"""Problem files: read as written, and every fault of a bad one named with its place."""

import json
from dataclasses import fields
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from django.conf import settings
from hypothesis import HealthCheck, given
from hypothesis import settings as hypothesis_settings

from scheduling.services.instances import InstanceFaultsError, read_instance, write_instance
from scheduling.solver import problem as problem_types
from scheduling.solver.problem import Problem, constant_lag
from tests.scheduling.solver.shops import job_shop
from tests.scheduling.solver.small_problems import small_problems

FOLDER = Path(settings.BASE_DIR) / "fixtures" / "instances"
SCHEMA = json.loads((FOLDER / "problem.schema.json").read_text(encoding="utf-8"))
INSTANCES = sorted(set(FOLDER.glob("*.json")) - {FOLDER / "problem.schema.json"})
KINDS = {
    "crew": problem_types.Crew,
    "window": problem_types.Window,
    "house": problem_types.House,
    "handover": problem_types.Handover,
    "wait": problem_types.Wait,
    "task": problem_types.Task,
    "equipment": problem_types.Equipment,
    "placement": problem_types.Placement,
}


def faults_of(tmp_path: Path, change: dict[str, Any]) -> list[str]:
    """Return what is said of the two houses with some of their parts replaced."""
    data = json.loads((FOLDER / "two_houses.json").read_text(encoding="utf-8"))
    file = tmp_path / "changed.json"
    file.write_text(json.dumps(data | change), encoding="utf-8")
    with pytest.raises(InstanceFaultsError) as raised:
        read_instance(file=file)
    return raised.value.faults


def test_the_schema_is_a_json_schema_of_2020_12() -> None:
    assert SCHEMA["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    jsonschema.Draft202012Validator.check_schema(SCHEMA)


@pytest.mark.parametrize("name", ["problem", *KINDS])
def test_every_field_is_in_the_schema_with_words(name: str) -> None:
    kind = Problem if name == "problem" else KINDS[name]
    properties = (SCHEMA if name == "problem" else SCHEMA["$defs"][name])["properties"]
    assert {field.name for field in fields(kind)} == properties.keys() - {"$schema", "title"}
    assert all(described["description"] for described in properties.values())


@pytest.mark.parametrize("file", INSTANCES, ids=lambda file: file.name)
def test_every_instance_of_the_folder_can_be_read(file: Path) -> None:
    assert read_instance(file=file).tasks


def test_a_curve_may_be_written_as_one_number() -> None:
    curves = read_instance(file=FOLDER / "two_houses.json").curves
    assert curves["next"] == constant_lag(0)
    # By hand: an end at tick 160 is in the second step; 160 + 240 is later than the floor 366.
    assert curves["dry"].ready(160) == 400


@hypothesis_settings(
    max_examples=30,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture],
)
@given(problem=small_problems())
def test_any_problem_comes_back_from_a_file_as_it_was(tmp_path: Path, problem: Problem) -> None:
    file = tmp_path / "any.json"
    write_instance(problem=problem, file=file, title="any")
    assert read_instance(file=file) == problem


def test_a_whole_number_with_a_point_is_whole(tmp_path: Path) -> None:
    text = (FOLDER / "two_houses.json").read_text(encoding="utf-8")
    (tmp_path / "point.json").write_text(text.replace("864", "864.0"), encoding="utf-8")
    horizon = read_instance(file=tmp_path / "point.json").horizon
    assert (horizon, type(horizon)) == (864, int)


def test_a_published_job_shop_goes_through_a_file(tmp_path: Path) -> None:
    write_instance(problem=job_shop("ft06"), file=tmp_path / "ft06.json")
    assert read_instance(file=tmp_path / "ft06.json") == job_shop("ft06")


def test_a_byte_order_mark_does_no_harm(tmp_path: Path) -> None:
    file = tmp_path / "marked.json"
    file.write_bytes(b"\xef\xbb\xbf" + (FOLDER / "two_houses.json").read_bytes())
    assert read_instance(file=file) == read_instance(file=FOLDER / "two_houses.json")


def test_all_faults_of_shape_are_named_at_once(tmp_path: Path) -> None:
    faults = faults_of(
        tmp_path,
        {
            "horizon": "long",
            "houses": [{"id": "Larch Row 3", "acess": None}],
            "handovers": [{"id": "a", "house": "Larch Row 3", "due": 1.5, "weight": -1}],
            "curves": {"dry": {"ends": [1], "lags": [1]}},
        },
    )
    for place in ("$.horizon", "$.houses[0]", "$.handovers[0].due", "$.handovers[0].weight"):
        assert any(fault.startswith(f"changed.json: {place}: ") for fault in faults), place
    assert any("$.curves.dry: 'floors' is a required" in fault for fault in faults)
    assert any("acess" in fault for fault in faults)


def test_all_faults_of_sense_are_named_at_once(tmp_path: Path) -> None:
    task = {"house": "Elm", "room": "hall", "person_minutes": 5}
    faults = faults_of(
        tmp_path,
        {
            "houses": [{"id": "Larch Row 3", "access": [[9, 3]]}, {"id": "Larch Row 3"}],
            "crews": [
                {
                    "id": "Ash",
                    "windows": [
                        {"start": 5, "end": 9, "day": 0},
                        {"start": 8, "end": 8, "day": 0},
                        {"start": 9, "end": 12, "day": -1},
                    ],
                }
            ],
            "tasks": [
                {"id": "a", **task, "crews": ["Oak"], "wet_curve": "damp"}
                | {"split": 6, "batch_ticks": 4},
                {
                    **task,
                    "id": "c",
                    "house": "Larch Row 3",
                    "fixed": {"task": "c", "crew": "Ash", "start": 5, "end": 5},
                },
            ],
            "waits": [{"before": "a", "after": "b", "curve": "dry"}],
            "handovers": [],
            "curves": {"dry": {"ends": [5, 5], "lags": [9, 1], "floors": [0, 0]}},
            "travel": 2 * [{"from": "Larch Row 3", "to": "Elm", "ticks": 3}],
            "origin": "2026-02-30T00:00:00Z",
        },
    )
    places = [fault.removeprefix("changed.json: ").partition(": ")[0] for fault in faults]
    assert sorted(places) == sorted(
        [
            "$.houses",
            "$.houses[0].access[0]",
            "$.origin",
            "$.crews[0].windows[1]",
            "$.crews[0].windows[1]",
            "$.crews[0].windows[2]",
            "$.tasks[1].fixed",
            "$.travel",
            "$.tasks[0].house",
            "$.tasks[0].crews",
            "$.tasks[0].wet_curve",
            "$.tasks[0].split",
            "$.waits[0].after",
            "$.curves.dry",
            "$.travel",
        ]
    )


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b'{"origin": 1,\n "now" 2}', "line 2, column 8: not JSON"),
        (b'{"now": 1, "now": 2}', "an object has 'now' twice"),
        ("{'ö'}".encode("latin-1"), "is not UTF-8 text"),
        (b"[]", "$: [] is not of type 'object'"),
        (rb'{"title": "\ud800"}', "half of a character, U+D800"),
        (b'{"horizon": NaN}', "$.horizon: nan is not of type 'integer'"),
    ],
)
def test_what_is_no_problem_at_all_is_said(tmp_path: Path, content: bytes, said: str) -> None:
    (tmp_path / "bad.json").write_bytes(content)
    with pytest.raises(InstanceFaultsError, match=r"bad\.json: ") as raised:
        read_instance(file=tmp_path / "bad.json")
    assert said in str(raised.value)


def test_a_file_that_is_not_there_is_said(tmp_path: Path) -> None:
    with pytest.raises(InstanceFaultsError, match=r"none\.json: No such file"):
        read_instance(file=tmp_path / "none.json")
