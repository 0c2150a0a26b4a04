"""Hours of air sent by another program: all faults at once, each with its place."""

from datetime import UTC, datetime
from typing import Any

import pytest

from finishing.models import AirSource
from finishing.services.air import Reading
from finishing.services.air_entries import read_air_entries
from finishing.services.errors import InputFaults
from finishing.services.reading_entries import read_reading_entry

STATION, LOGGER = AirSource.Kind.STATION, AirSource.Kind.LOGGER
NOW = datetime(2026, 3, 2, 12, tzinfo=UTC)


def hour(at: str, celsius: Any = 7.5, percent: Any = 80, **more: Any) -> dict[str, Any]:
    return {"at": at, "temperature_c": celsius, "humidity_percent": percent, **more}


def faults_of(entries: Any, **how: Any) -> list[str]:
    with pytest.raises(InputFaults) as caught:
        read_air_entries(entries, kind=STATION, **how)
    return str(caught.value).splitlines()


def test_hours_are_read_by_their_utc_hour() -> None:
    entries = [hour("2026-03-02T00:00Z"), hour("2026-03-02T03:00+02:00", 8, 79.5)]
    assert read_air_entries(entries, kind=STATION) == {
        datetime(2026, 3, 2, 0, tzinfo=UTC): Reading(7.5, 0.8),
        datetime(2026, 3, 2, 1, tzinfo=UTC): Reading(8.0, 0.795),
    }


def test_fahrenheit_and_minutes_of_a_logger() -> None:
    # 50 F is 10 C, 59 F is 15 C: the definition of the scale.
    entries = [
        {"at": "2026-03-02T00:10Z", "temperature_f": 50, "humidity_percent": 60},
        {"at": "2026-03-02T00:40Z", "temperature_f": 59, "humidity_percent": 70},
    ]
    readings = read_air_entries(entries, kind=LOGGER)
    assert readings == {datetime(2026, 3, 2, 0, tzinfo=UTC): Reading(12.5, 0.65)}


def test_all_faults_come_at_once_with_their_places() -> None:
    entries = [
        hour("2026-03-02T00:00Z"),
        "an hour",
        hour("2026-03-02T02:00"),
        hour("2026-03-02T03:30Z"),
        hour("2026-03-02T04:00Z", "7", None),
        hour("2026-03-02T05:00Z", 75, 101, pressure=1013),
        hour("2026-03-02T02:00+02:00"),
        hour("2026-03-02T06:00Z", True, float("inf")),
    ]
    assert faults_of(entries) == [
        "#/1: is not an object",
        "#/2/at: '2026-03-02T02:00' has neither an offset nor a Z",
        "#/3/at: '2026-03-02T03:30Z' is not on the hour",
        "#/4/temperature_c: is not a number",
        "#/4/humidity_percent: is missing",
        "#/5: 'pressure' is not known here: every hour has at, temperature_c, humidity_percent",
        "#/5/temperature_c: 75 C cannot be the air of a place (is it Fahrenheit?)",
        "#/5/humidity_percent: 101 must not be above 100",
        "#/6/at: 2026-03-02 00:00Z is already on #/0",
        "#/7/temperature_c: is not a number",
        "#/7/humidity_percent: is no number that air can have",
    ]


def test_a_missing_hour_is_a_fault_unless_there_may_be_holes() -> None:
    entries = [hour("2026-03-02T00:00Z"), hour("2026-03-02T03:00Z")]
    assert faults_of(entries) == [
        "#/1/at: 2 hours missing before this one: 2026-03-02 01:00Z to 2026-03-02 02:00Z"
    ]
    assert len(read_air_entries(entries, kind=STATION, holes=True)) == 2


def test_slips_of_unit_show_in_all_hours_together() -> None:
    warm = [hour(f"2026-03-02T{at:02}:00Z", 59.0, 0.78) for at in range(3)]
    assert faults_of(warm) == [
        "#/0/humidity_percent: looks like fractions of 1: write percent, 78 and not 0.78",
        "#/0/temperature_c: the mean is 59 C: is this Fahrenheit?",
    ]


@pytest.mark.parametrize("entries", [[], {}, None, "hours", 7])
def test_what_is_no_list_of_hours_is_refused(entries: Any) -> None:
    assert faults_of(entries) == ["#: is not a list of at least one hour"]


def test_both_scales_in_one_list_are_refused() -> None:
    mixed = [hour("2026-03-02T00:00Z"), hour("2026-03-02T01:00Z", temperature_f=50)]
    assert [fault.partition(":")[0] for fault in faults_of(mixed)] == [
        "#/0",
        "#/0/temperature_f",
        "#/1",
    ]


def test_a_reading_is_read() -> None:
    at, reading = read_reading_entry(
        {"at": "2026-03-02T11:40Z", "temperature_f": 68, "humidity_percent": 55}, now=NOW
    )
    assert (at, reading) == (datetime(2026, 3, 2, 11, 40, tzinfo=UTC), Reading(20.0, 0.55))


def test_faults_of_a_reading_come_at_once() -> None:
    def faults(entry: Any) -> list[str]:
        with pytest.raises(InputFaults) as caught:
            read_reading_entry(entry, now=NOW)
        return str(caught.value).splitlines()

    assert faults(hour("2026-03-02T13:00Z", 68, 0.5)) == [
        "#/temperature_c: 68 C cannot be the air of a house (is it Fahrenheit?)",
        "#/humidity_percent: looks like fractions of 1: write percent, 78 and not 0.78",
        "#/at: 2026-03-02 13:00Z is still to come",
    ]
    assert faults({"place": "hall", "humidity_percent": "x"}) == [
        "#: 'place' is not known here: a reading has at, temperature_c, humidity_percent",
        "#/temperature_c: is missing",
        "#/humidity_percent: is not a number",
        "#/at: is missing",
    ]
    assert faults([1]) == ["#: is not an object"]
