"""The form of what is logged."""

import json
import logging
import sys

from finishing.config.logs import RedactedJson, RedactedText
from scheduling.run_log import RunFilter, logged_as

SECRET = "x-_A" * 16


def recorded(text: str, *arguments: object) -> logging.LogRecord:
    try:
        raise ValueError(f"at /crew/{SECRET}/")
    except ValueError:
        failure = sys.exc_info()
    record = logging.LogRecord("scheduling", logging.INFO, "", 0, text, arguments, failure)
    RunFilter().filter(record)
    return record


def test_a_line_of_json_names_the_run() -> None:
    with logged_as("018f"):
        line = RedactedJson().format(recorded("planning %s", "begins"))
    said = json.loads(line)
    assert "\n" not in line
    assert (said["level"], said["logger"], said["message"], said["run"]) == (
        "INFO", "scheduling", "planning begins", "018f",
    )  # fmt: skip
    assert said["timestamp"].endswith("+00:00")
    assert json.loads(RedactedJson().format(recorded("later")))["run"] == ""


def test_secrets_are_cut_out_of_tracebacks_and_extras_too() -> None:
    record = recorded("failed")
    record.address = f"https://plan.example/crew/{SECRET}/"
    for form in (RedactedJson(), RedactedText()):
        line = form.format(record)
        assert SECRET not in line
        assert "ValueError" in line
    assert json.loads(RedactedJson().format(record))["address"].endswith("/crew/[secret]/")
