"""Problem files: JSON that a person can write, checked against its schema, read and written."""

import json
from collections import Counter
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

from django.conf import settings
from jsonschema import Draft202012Validator

from scheduling.solver.problem import Problem
from scheduling.solver.problem_faults import problem_faults
from scheduling.solver.serialize import problem_from_json, problem_to_json

SCHEMA = "fixtures/instances/problem.schema.json"


class InstanceFaultsError(ValueError):
    """Everything that is wrong with a problem file, each fault with its place."""

    def __init__(self, file: str, faults: list[str]) -> None:
        self.faults = [f"{file}: {fault}" for fault in faults]
        super().__init__("\n".join(self.faults))


def read_instance(*, file: Path) -> Problem:
    """Return the Problem in a file; raise InstanceFaultsError with all faults of one that has any.

    What refers to what is looked at only once every value is of the right kind.
    """
    data = _json(file)
    validator = _validator()
    faults = [
        f"{error.json_path}: {error.message}"
        for error in sorted(validator.iter_errors(data), key=lambda error: error.json_path)
    ]
    if faults:
        raise InstanceFaultsError(file.name, faults)
    problem = problem_from_json({k: v for k, v in data.items() if k not in {"$schema", "title"}})
    if faults := [*_ways_twice(data), *problem_faults(problem)]:
        raise InstanceFaultsError(file.name, faults)
    return problem


def write_instance(*, problem: Problem, file: Path, title: str = "") -> None:
    """Write a Problem to a file that read_instance reads."""
    head = {"$schema": Path(SCHEMA).name} | ({"title": title} if title else {})
    text = json.dumps(head | problem_to_json(problem), indent=1, ensure_ascii=False)
    file.write_text(text + "\n", encoding="utf-8")


def _ways_twice(data: dict[str, Any]) -> Iterator[str]:
    """A Problem itself would silently keep the last of two."""
    counts = Counter((way["from"], way["to"]) for way in data.get("travel", []))
    for (here, there), count in counts.items():
        if count > 1:
            yield f"$.travel: the way from {here!r} to {there!r} is there {count} times"


def _json(file: Path) -> Any:
    try:
        text = file.read_text(encoding="utf-8-sig")
        data = json.loads(text, object_pairs_hook=_no_name_twice, parse_float=_whole_if_it_is)
        json.dumps(data, ensure_ascii=False).encode()
        return data
    except OSError as error:
        raise InstanceFaultsError(file.name, [error.strerror or "cannot be read"]) from None
    except UnicodeDecodeError:
        raise InstanceFaultsError(file.name, ["is not UTF-8 text"]) from None
    except UnicodeEncodeError as error:
        half = f"U+{ord(error.object[error.start]):04X}"
        raise InstanceFaultsError(file.name, [f"half of a character, {half}"]) from None
    except json.JSONDecodeError as error:
        place = f"line {error.lineno}, column {error.colno}"
        raise InstanceFaultsError(file.name, [f"{place}: not JSON: {error.msg}"]) from None
    except (ValueError, RecursionError) as error:
        raise InstanceFaultsError(file.name, [str(error)]) from None


def _no_name_twice(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """JSON itself would silently keep the last of two."""
    found = dict(pairs)
    if len(found) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise ValueError(f"an object has {twice!r} twice")
    return found


def _whole_if_it_is(text: str) -> float:
    """JSON Schema counts 5.0 among the integers."""
    number = float(text)
    return int(number) if number.is_integer() else number


@cache
def _validator() -> Draft202012Validator:
    schema = json.loads((settings.BASE_DIR / SCHEMA).read_text(encoding="utf-8"))
    return Draft202012Validator(schema)
