"""The climate of many houses: ``uv run python -m tests.bench.climate``.

Prints the seconds of one core for 1,000 houses over 60 days of real hourly air, each with three
coats in four rooms, open at first, then closed, then heated, two thirds of them with dryers.
"""

import argparse
from statistics import median
from time import process_time

import numpy as np

from finishing.rules.house_climate import climate_of
from finishing.rules.house_inputs import Coats, Dryers, Houses, Running, Site, State, Weather
from tests.bench.shops import say
from tests.finishing.jfk import jfk_air

DAYS = 60
ROOMS = 4
COATS = 3


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--houses", type=int, default=1000)
    parser.add_argument("--times", type=int, default=5)
    options = parser.parse_args()
    site, seconds = street(options.houses), []
    for _ in range(options.times):
        began = process_time()
        climate = climate_of(site)
        seconds.append(process_time() - began)
    dry = np.isfinite(climate.dry_hours).mean()
    say(f"{options.houses} houses, {DAYS} days ({dry:.0%} of coats dry), seconds:")
    say(f"first run {seconds[0]:.2f}, median of {len(seconds)} runs {median(seconds):.2f}")


def street(houses: int) -> Site:
    """Return houses that begin at different hours of spring and summer."""
    lot = np.random.default_rng(1)
    hours = np.arange(24 * DAYS)
    air = jfk_air("2013-04-01T00:00:00Z", 24 * (DAYS + 90))
    begin = lot.integers(0, 24 * 90, size=(houses, 1))
    closed, heated = (lot.integers(24 * a, 24 * (a + 7), size=(houses, 1)) for a in (3, 12))
    state = np.where(hours < closed, State.OPEN, State.CLOSED)
    return Site(
        Houses(lot.uniform(300.0, 800.0, houses), heat_kw=10.0, flame_share=lot.integers(0, 2)),
        Weather(air.temperature_c[begin + hours], air.humidity[begin + hours]),
        Running(np.where(hours < heated, state, State.HEATED), 0.5, setpoint_c=18.0),
        coats(houses, lot),
        Dryers(lot.integers(0, 3, (houses, 1)), 40.0, tank_l=30.0, emptied=hours % 24 == 7),
    )


def coats(houses: int, lot: np.random.Generator) -> Coats:
    """Return every room's coats, three days apart, from a week after the start at the earliest."""
    size = houses * ROOMS * COATS
    number = np.arange(size)
    house, room, coat = number // (ROOMS * COATS), number // COATS % ROOMS, number % COATS
    start = lot.integers(24 * 7, 24 * 40, houses)[house]
    amounts = np.array([1.0, 0.78, 0.44])
    return Coats(house, room, start + 72 * coat + room, lot.uniform(8.0, 16.0, size), amounts[coat])


if __name__ == "__main__":
    main()
