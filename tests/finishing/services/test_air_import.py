from datetime import UTC, datetime, timedelta
from io import StringIO
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from django.core.management import CommandError, call_command

from finishing.models import AirDay, AirSource
from finishing.queries.air import hourly_air, known_span
from finishing.services.air import Reading, put_air_source, store_air
from finishing.services.air_sheet import AirFormat, read_air
from finishing.services.errors import InputFaults
from tests.factories import make_company, make_house

DUBLIN, ADELAIDE = ZoneInfo("Europe/Dublin"), ZoneInfo("Australia/Adelaide")


def read(content: str, **options: object) -> dict[str, dict[datetime, Reading]]:
    file_format = AirFormat(source="Roof", **options)  # type: ignore[arg-type]
    return read_air(name="air.csv", content=content.encode(), file_format=file_format)


def refused(content: str, **options: object) -> list[str]:
    with pytest.raises(InputFaults) as caught:
        read(content, **options)
    return [str(fault).removeprefix("air.csv ") for fault in caught.value.faults]


def rows(*lines: str, header: str = "time,temperature_c,humidity") -> str:
    return "\n".join([header, *lines]) + "\n"


def utc(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


def test_utc_and_offsets() -> None:
    found = read(rows("2026-03-02T10:00Z,8.1,88", "2026-03-02 12:00+01:00,8.4,100"))
    assert found == {
        "Roof": {
            utc("2026-03-02 10:00"): Reading(8.1, 0.88),
            utc("2026-03-02 11:00"): Reading(8.4, 1),
        }
    }


def test_fahrenheit() -> None:
    """NIST SP 811: 50 F is 10 C, 32 F is 0 C."""
    content = rows("2026-03-02T10:00Z,50,88", "2026-03-02T11:00Z,32,88")
    for text, options in (
        (content.replace("_c", "_f"), {}),
        (content.replace("temperature_c", "temperature"), {"unit": "F"}),
    ):
        assert [r.temperature_c for r in read(text, **options)["Roof"].values()] == [10, 0]


def test_several_stations() -> None:
    content = rows(
        "North,2026-03-02T10:00Z,8,80",
        "South,2026-03-02T10:00Z,9,81",
        header="station,time,temperature_c,humidity",
    )
    assert set(read(content)) == {"North", "South"}


def test_local_hours_of_the_spring_change() -> None:
    """tz database: on 29 March 2026 in Dublin 00:59 is followed by 02:00."""
    content = rows("2026-03-29 00:00,8,80", "2026-03-29 02:00,8,80")
    assert list(read(content, zone=DUBLIN)["Roof"]) == [
        utc("2026-03-29 00:00"),
        utc("2026-03-29 01:00"),
    ]
    [fault] = refused(rows("2026-03-29 01:00,8,80"), zone=DUBLIN)
    assert "line 2, column time: 2026-03-29 01:00 does not exist in Europe/Dublin" in fault


def test_local_hours_of_the_autumn_change() -> None:
    """tz database: on 25 October 2026 in Dublin 01:00 comes twice, an hour apart."""
    times = ("00:00", "01:00", "01:00", "02:00")
    lines = [f"2026-10-25 {time},8,80" for time in times]
    found = read(rows(*lines), zone=DUBLIN)["Roof"]
    first = utc("2026-10-24 23:00")
    assert list(found) == [first + timedelta(hours=step) for step in range(4)]


def test_once_too_often_at_the_autumn_change() -> None:
    lines = ["2026-10-25 00:00,8,80", *["2026-10-25 01:00,8,80"] * 3]
    assert refused(rows(*lines), zone=DUBLIN) == [
        "line 5, column time: 2026-10-25 01:00Z is already on line 4"
    ]


def test_once_too_few_at_the_autumn_change() -> None:
    lines = [f"2026-10-25 {time},8,80" for time in ("00:00", "01:00", "02:00")]
    assert (
        "1 hour missing before this one: 2026-10-25 01:00Z" in refused(rows(*lines), zone=DUBLIN)[0]
    )


def test_a_zone_half_an_hour_off_counts_for_the_utc_hour_it_falls_into() -> None:
    content = rows("2026-07-01 12:00,8,80", "2026-07-01 13:00,8,80")
    assert list(read(content, zone=ADELAIDE)["Roof"]) == [
        utc("2026-07-01 02:00"),
        utc("2026-07-01 03:00"),
    ]


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("2026-03-02T10:00Z,8,101", "column humidity: 101 must not be above 100"),
        ("2026-03-02T10:00Z,8,-1", "column humidity: -1 must not be below 0"),
        ("2026-03-02T10:00Z,8,damp", "column humidity: 'damp' is not a number"),
        ("2026-03-02T10:00Z,8,", "column humidity: must not be blank"),
        ("2026-03-02T10:00Z,mild,80", "column temperature_c: 'mild' is not a number"),
        ("2026-03-02T10:00Z,,80", "column temperature_c: must not be blank"),
        ("2026-03-02T10:00Z,72,80", "column temperature_c: 72 C cannot be the air of a place (is"),
        ("2026-03-02T10:00Z,-72,80", "column temperature_c: -72 C cannot be"),
        ("2026-03-02T10:20Z,8,80", "column time: '2026-03-02T10:20Z' is not on the hour"),
        ("2026-03-02,8,80", "column time: '2026-03-02' is not a time"),
        ("noon,8,80", "column time: 'noon' is not a time"),
        (",8,80", "column time: must not be blank"),
        ("2026-03-02 10:00,8,80", "column time: times without an offset or Z: say their zone"),
    ],
)
def test_a_cell_that_cannot_be(line: str, said: str) -> None:
    [fault] = refused(rows(line))
    assert fault.startswith(f"line 2, {said}")


def test_a_missing_zone_is_said_once() -> None:
    assert len(refused(rows(*[f"2026-03-02 {hour:02}:00,8,80" for hour in range(10)]))) == 1


def test_fractions_for_percent() -> None:
    content = rows("2026-03-02T10:00Z,8,0.8", "2026-03-02T11:00Z,8,0.95")
    assert "looks like fractions of 1: write percent" in refused(content)[0]


def test_fahrenheit_called_celsius() -> None:
    content = rows("2026-03-02T10:00Z,48,80", "2026-03-02T11:00Z,55,80")
    assert refused(content) == [
        "line 2, column temperature_c: the mean is 52 C: is this Fahrenheit?"
    ]


def test_gaps_and_duplicates_are_listed_together_with_other_faults() -> None:
    content = rows(
        "2026-03-02T10:00Z,8,80",
        "2026-03-02T10:00Z,8,80",
        "2026-03-02T12:00Z,8,80",
        "2026-03-02T13:00Z,8,101",
        "2026-03-02T20:00Z,8,80",
    )
    assert refused(content) == [
        "line 3, column time: 2026-03-02 10:00Z is already on line 2",
        _gap(4, "1 hour", "2026-03-02 11:00Z", "2026-03-02 11:00Z"),
        "line 5, column humidity: 101 must not be above 100",
        _gap(6, "6 hours", "2026-03-02 14:00Z", "2026-03-02 19:00Z"),
    ]


def _gap(line: int, hours: str, first: str, last: str) -> str:
    return f"line {line}, column time: {hours} missing before this one: {first} to {last}"


@pytest.mark.parametrize(
    ("header", "unit", "said"),
    [
        ("time,humidity", "", "one column of temperature_c, temperature_f, temperature is needed"),
        ("time,humidity,temperature_c,temperature_f", "", "one column of"),
        ("time,humidity,temperature", "", "Say --unit C or F"),
        ("time,humidity,temperature_c", "F", "the unit is given as F"),
    ],
)
def test_which_unit(header: str, unit: str, said: str) -> None:
    cells = ",".join(["2026-03-02T10:00Z", "80", "8", "8"][: header.count(",") + 1])
    assert said in refused(rows(cells, header=header), unit=unit)[0]


def hours_from(first: str, *temperatures: float) -> dict[datetime, Reading]:
    return {
        utc(first) + timedelta(hours=step): Reading(value, 0.5)
        for step, value in enumerate(temperatures)
    }


@pytest.mark.django_db
def test_stored_by_utc_day_and_read_back_with_nan_outside() -> None:
    source = put_air_source(company=make_company(), name="Roof")
    store_air(source=source, readings=hours_from("2026-03-02 22:00", 1, 2, 3, 4))
    assert [day.temperature_c.count(None) for day in AirDay.objects.all()] == [22, 22]
    air = hourly_air(source, first_hour=utc("2026-03-02 21:00"), hours=6)
    np.testing.assert_array_equal(air.temperature_c, [np.nan, 1, 2, 3, 4, np.nan])
    np.testing.assert_array_equal(air.humidity, [np.nan, 0.5, 0.5, 0.5, 0.5, np.nan])
    assert known_span(source) == (utc("2026-03-02 22:00"), utc("2026-03-03 02:00"))


@pytest.mark.django_db
def test_a_later_file_overwrites_its_hours_and_keeps_the_others() -> None:
    source = put_air_source(company=make_company(), name="Roof")
    store_air(source=source, readings=hours_from("2026-03-02 22:00", 1, 2, 3, 4))
    store_air(source=source, readings=hours_from("2026-03-02 23:00", 20, 30))
    air = hourly_air(source, first_hour=utc("2026-03-02 22:00"), hours=4)
    np.testing.assert_array_equal(air.temperature_c, [1, 20, 30, 4])
    assert set(AirDay.objects.values_list("version", flat=True)) == {2}


@pytest.mark.django_db
def test_nothing_known() -> None:
    source = put_air_source(company=make_company(), name="Roof")
    assert known_span(source) is None
    assert np.isnan(hourly_air(source, first_hour=utc("2026-03-02 22:00"), hours=3)).all()


LOGGER: dict[str, object] = {"kind": AirSource.Kind.LOGGER}


def test_an_hour_of_a_logger_is_the_mean_of_its_readings() -> None:
    lines = ["2026-03-02T10:00:07Z,8,80", "2026-03-02T10:20:07Z,9,81", "2026-03-02T10:40Z,10,85"]
    found = read(rows(*lines, "2026-03-02T11:00Z,8,80"), **LOGGER)["Roof"]
    assert found == {
        utc("2026-03-02 10:00"): Reading(9, 0.82),
        utc("2026-03-02 11:00"): Reading(8, 0.8),
    }
    assert "'2026-03-02T10:20:07Z' is not on the hour" in refused(rows(*lines))[1]


def test_a_logger_through_the_autumn_change() -> None:
    """tz database: on 25 October 2026 in Dublin 01:00 to 01:59 come twice."""
    times = ["00:30", "01:00", "01:30", "01:00", "01:30", "02:00"]
    lines = [f"2026-10-25 {time},{8 + step},80" for step, time in enumerate(times)]
    found = read(rows(*lines), zone=DUBLIN, **LOGGER)["Roof"]
    first = utc("2026-10-24 23:00")
    hours = [first + timedelta(hours=step) for step in range(4)]
    assert [found[hour].temperature_c for hour in hours] == [8, 9.5, 11.5, 13]


BY_STATION = "station,time,temperature_c,humidity"


def test_each_station_of_a_file_is_looked_at_alone() -> None:
    """South is in fractions and in Fahrenheit; North, beside it, hides neither."""
    north = [f"North,2026-03-02T{hour:02}:00Z,8,80" for hour in range(9)]
    south = ["South,2026-03-02T00:00Z,46,0.8", "South,2026-03-02T01:00Z,46,0.9"]
    assert refused(rows(*north, *south, header=BY_STATION)) == [
        "line 11, column humidity: looks like fractions of 1: write percent, 78 and not 0.78",
        "line 11, column temperature_c: the mean is 46 C: is this Fahrenheit?",
    ]


def test_a_fraction_among_percents_is_named_by_its_line() -> None:
    hours = [f"2026-03-02T{hour:02}:00Z,8,{0.8 if hour == 4 else 80}" for hour in range(9)]
    assert refused(rows(*hours)) == [
        "line 6, column humidity: 0.8 looks like fractions of 1: write percent, 78 and not 0.78"
    ]


def test_one_humidity_above_1_does_not_hide_fractions() -> None:
    hours = [f"2026-03-02T{hour:02}:00Z,8,{1.02 if hour == 4 else 0.8}" for hour in range(9)]
    assert "looks like fractions of 1" in refused(rows(*hours))[0]


def test_winter_in_fahrenheit_called_celsius_is_too_damp_to_be_true() -> None:
    """40 F is 4 C; 40 C at 85 % would be a dew point of 37 C, above any measured on Earth (35 C,
    from memory)."""
    [fault] = refused(rows("2026-03-02T10:00Z,40,85", "2026-03-02T11:00Z,40,85"))
    assert fault == (
        "line 2, column temperature_c: a mean of 40 C at 85 % is damper than any place: "
        "is this Fahrenheit?"
    )
    assert read(rows("2026-07-02T10:00Z,40,20", "2026-07-02T11:00Z,34,60"))


NEW_YORK, SYDNEY = ZoneInfo("America/New_York"), ZoneInfo("Australia/Sydney")


@pytest.mark.parametrize(
    ("zone", "day", "twice", "first"),
    [
        (DUBLIN, "2026-10-25", "01", "2026-10-25 00:00"),
        (NEW_YORK, "2026-11-01", "01", "2026-11-01 05:00"),
        (SYDNEY, "2026-04-05", "02", "2026-04-04 15:00"),
        (ADELAIDE, "2026-04-05", "02", "2026-04-04 15:00"),
    ],
)
@pytest.mark.parametrize("newest_first", [False, True])
def test_the_hour_that_comes_twice_whichever_way_the_file_runs(
    zone: ZoneInfo, day: str, twice: str, first: str, newest_first: bool
) -> None:
    """tz database: when the clock goes back; Adelaide is half an hour off."""
    clock = [int(twice) - 1, int(twice), int(twice), int(twice) + 1]
    lines = [f"{day} {hour:02}:00,{8 + step},80" for step, hour in enumerate(clock)]
    found = read(rows(*(lines[::-1] if newest_first else lines)), zone=zone)["Roof"]
    hours = [utc(first) + timedelta(hours=step) for step in range(-1, 3)]
    assert [found[hour].temperature_c for hour in hours] == [8, 9, 10, 11]


@pytest.mark.parametrize("newest_first", [False, True])
def test_a_logger_whose_minutes_wander_through_the_autumn_change(newest_first: bool) -> None:
    times = ["00:20", "00:55", "01:30", "01:05", "01:40", "02:15"]
    lines = [f"2026-10-25 {time},{8 + step},80" for step, time in enumerate(times)]
    content = rows(*(lines[::-1] if newest_first else lines))
    found = read(content, zone=DUBLIN, **LOGGER)["Roof"]
    hours = [utc("2026-10-24 23:00") + timedelta(hours=step) for step in range(4)]
    assert [found[hour].temperature_c for hour in hours] == [8.5, 10, 11.5, 13]


@pytest.mark.django_db
@pytest.mark.parametrize("name", ["Forecast 53.34, -6.26", "Readings in Mill Cottage"])
def test_air_does_not_slip_into_what_is_forecast_or_read(name: str) -> None:
    with pytest.raises(InputFaults, match="are kept for our own: give another"):
        put_air_source(company=make_company(), name=name)


@pytest.mark.django_db(transaction=True)
def test_a_loggers_file_leaves_a_station_of_its_houses_name_alone(tmp_path: Path) -> None:
    company = make_company()
    make_house(company, "Mill Cottage")
    station = put_air_source(company=company, name="Mill Cottage", kind=AirSource.Kind.STATION)
    store_air(source=station, readings=hours_from("2026-03-02 22:00", 1, 2))
    path, err = tmp_path / "hall.csv", StringIO()
    path.write_text(rows("2026-03-02T22:00Z,20,50"))
    with pytest.raises(CommandError, match="nothing was imported"):
        call_command("import_air", str(path), "--house", "Mill Cottage", stderr=err)
    assert (
        "'Mill Cottage': is a station already: give the logger's air another name" in err.getvalue()
    )
    station.refresh_from_db()
    assert station.kind == AirSource.Kind.STATION
    assert AirDay.objects.get(day="2026-03-02").temperature_c[22] == 1
    call_command("import_air", str(path), "--house", "Mill Cottage", "--source", "Hall")
    assert AirSource.objects.get(name="Hall").kind == AirSource.Kind.LOGGER


def test_a_logger_with_a_missing_hour_or_the_same_moment_twice() -> None:
    lines = ["2026-03-02T10:40Z,8,80", "2026-03-02T10:40Z,8,80", "2026-03-02T12:10Z,8,80"]
    assert refused(rows(*lines), **LOGGER) == [
        "line 3, column time: 2026-03-02 10:40Z is already on line 2",
        _gap(4, "1 hour", "2026-03-02 11:00Z", "2026-03-02 11:00Z"),
    ]


def test_a_station_that_is_said_to_have_holes() -> None:
    content = rows(
        "2026-03-02T10:00Z,8,80",
        "2026-03-02T13:00Z,9,80",
        "2026-03-02T14:00Z,,80",
        "2026-03-02T15:00Z,8,",
        "2026-03-02T16:00Z,8,80",
    )
    assert [hour.hour for hour in read(content, holes=True)["Roof"]] == [10, 13, 16]
    assert len(refused(content)) == 3
    assert "101 must not be above 100" in refused(rows("2026-03-02T10:00Z,8,101"), holes=True)[0]
    assert "no hour has a value" in refused(rows("2026-03-02T10:00Z,,"), holes=True)[0]


@pytest.mark.parametrize("newest_first", [False, True])
@pytest.mark.parametrize("blank", [1, 2])
def test_a_hole_in_the_hour_that_comes_twice_stays_where_it_is(
    blank: int, newest_first: bool
) -> None:
    """tz database: on 25 October 2026 in Dublin 01:00 comes twice, an hour apart."""
    lines = [f"2026-10-25 {hour}:00,{8 + n},80" for n, hour in enumerate(("00", "01", "01", "02"))]
    lines[blank] = "2026-10-25 01:00,,"
    content = rows(*(lines[::-1] if newest_first else lines))
    found = read(content, zone=DUBLIN, holes=True)["Roof"]
    first = utc("2026-10-24 23:00")
    kept = [step for step in range(4) if step != blank]
    assert {hour: row.temperature_c for hour, row in found.items()} == {
        first + timedelta(hours=step): 8 + step for step in kept
    }


def test_a_hole_may_be_at_an_hour_that_the_clock_jumps_over() -> None:
    """tz database: on 29 March 2026 in Dublin there is no 01:00."""
    lines = [f"2026-03-29 {row}" for row in ("00:00,8,80", "01:00,,", "02:00,9,80")]
    found = read(rows(*lines, ",,"), zone=DUBLIN, holes=True)["Roof"]
    assert list(found) == [utc("2026-03-29 00:00"), utc("2026-03-29 01:00")]
