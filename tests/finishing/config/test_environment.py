"""Numbers from the environment."""

import os
import subprocess
import sys

import pytest
from django.conf import settings

from finishing.config.environment import WholeNumber, whole_numbers

ASKED = {"MINUTES": WholeNumber(60, 0, 100), "MEMORY": WholeNumber(4096, 1, 9999)}


@pytest.mark.parametrize(
    ("given", "minutes"),
    [({}, 60), ({"MINUTES": ""}, 60), ({"MINUTES": " 0 "}, 0), ({"MINUTES": "100"}, 100)],
)
def test_what_is_set_and_what_is_not(given: dict[str, str], minutes: int) -> None:
    assert whole_numbers(given, ASKED) == {"MINUTES": minutes, "MEMORY": 4096}


@pytest.mark.parametrize("text", ["abc", "1.5", "-1", "101", "1_0", "9" * 5000, "²", "0x1"])
def test_what_is_no_number_in_the_limits_ends_the_program(text: str) -> None:
    with pytest.raises(SystemExit, match=r"^MINUTES: '.{1,40}' is not a whole number from 0 to"):
        whole_numbers({"MINUTES": text}, ASKED)


def test_all_faults_are_named_at_once() -> None:
    with pytest.raises(SystemExit, match=r"^MINUTES: 'a' is .*; MEMORY: 'b' is not"):
        whole_numbers({"MINUTES": "a", "MEMORY": "b"}, ASKED)


def test_a_command_says_so_in_one_line() -> None:
    done = subprocess.run(
        [sys.executable, "manage.py", "check"],
        cwd=settings.BASE_DIR,
        env=os.environ | {"COATWEAVE_FORECAST_MINUTES": "abc"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 1
    said = "COATWEAVE_FORECAST_MINUTES: 'abc' is not a whole number from 0 to 10080\n"
    assert (done.stdout, done.stderr) == ("", said)
