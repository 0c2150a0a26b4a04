"""The air in houses with wet coats in them: water accounts, limits, orderings, a finer step."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishing.rules.climate import humidity_ratio, vapour_kpa
from finishing.rules.dryers import HUMIDISTAT_BAND
from finishing.rules.drying import dry_at, drying_hours, progress, saturation_kpa
from finishing.rules.house_climate import Climate, WaterBalance, climate_of
from finishing.rules.house_inputs import Coats, Dryers, Houses, Running, Site, State, Weather
from finishing.rules.units import FloatArray
from tests.examples import examples

HOURS = 96
seeds = st.integers(0, 2**32 - 1)


def any_site(seed: int) -> Site:
    """Three houses, each in all four states in turn, with coats, flames and dryers by lot."""
    lot = np.random.default_rng(seed)
    shape = (3, HOURS)
    state = np.sort(lot.integers(0, 4, shape), axis=1)
    state = np.where(lot.random((3, 1)) < 0.5, state, lot.integers(1, 3, (3, 1)))
    number = int(lot.integers(0, 12))
    return Site(
        Houses(
            lot.uniform(100.0, 900.0, 3),
            heat_kw=lot.choice([2.0, 20.0, np.inf], 3),
            flame_share=lot.uniform(0.0, 1.0, 3),
        ),
        Weather(lot.uniform(-15.0, 32.0, shape), lot.uniform(0.0, 1.0, shape)),
        Running(
            state,
            air_changes_per_h=lot.choice([0.0, 0.3, 5.0, 1e4], (3, 1)),
            setpoint_c=lot.uniform(10.0, 25.0, (3, 1)),
            logged_c=lot.uniform(0.0, 30.0, shape),
            logged_humidity=lot.uniform(0.0, 1.0, shape),
        ),
        Coats(
            lot.integers(0, 3, number),
            lot.integers(0, 2, number),
            lot.integers(0, HOURS, number),
            10.0 ** lot.uniform(-3.0, 2.5, number),
            lot.uniform(0.1, 3.0, number),
        ),
        Dryers(
            lot.integers(0, 4, shape),
            rated_l_per_day=lot.uniform(0.0, 100.0, 3),
            hold_humidity=lot.uniform(0.2, 0.9, 3),
            tank_l=lot.choice([5.0, np.inf], 3),
            emptied=lot.random(shape) < 0.05,
        ),
    )


def held_house(
    *,
    load_kg: float,
    outdoor: tuple[float, float] = (15.0, 0.6),
    held_c: float = 20.0,
    air_changes_per_h: float = 0.5,
    dryers: int = 0,
    hours: int = 400,
    amount: float = 1.0,
) -> Site:
    """Return a house of 570 m3 kept at one temperature, with a coat from its first hour."""
    return Site(
        Houses(570.0),
        Weather(np.full(hours, outdoor[0]), outdoor[1]),
        Running(State.HEATED, air_changes_per_h, held_c),
        Coats([0], [0], [0], [load_kg], [amount]),
        Dryers(dryers, 40.0),
    )


def missing_kg(balance: WaterBalance) -> np.ndarray:
    came = balance.before_kg + balance.laid_kg + balance.air_in_kg + balance.flame_kg
    left = balance.in_coats_kg + balance.vapour_kg + balance.condensed_kg
    return came - balance.air_out_kg - balance.removed_kg - left


class TestWaterIsConserved:
    @given(seeds)
    def test_nothing_is_lost_or_made(self, seed: int) -> None:
        site = any_site(seed)
        climate = climate_of(site)
        balance, hourly = climate.balance, climate.hourly
        total = balance.before_kg + balance.laid_kg + balance.air_in_kg + balance.flame_kg
        assert np.all(np.abs(missing_kg(balance)) <= 1e-6 * total)
        laid = np.bincount(np.asarray(site.coats.house), np.asarray(site.coats.water_kg), 3)
        given_off = hourly.evaporated_kg.sum(axis=1)
        assert given_off + balance.in_coats_kg == pytest.approx(laid, rel=1e-9, abs=1e-9)

    @given(seeds)
    def test_air_carries_out_what_a_closed_house_holds(self, seed: int) -> None:
        """The books of air against the humidity that is told: W0 = 0.622 p / (P - p) and so on."""
        site = any_site(seed)
        running = replace(site.running, state=State.CLOSED, air_changes_per_h=2.0)
        climate = climate_of(replace(site, running=running))
        changed_kg = 2.0 * 1.2 * np.asarray(site.houses.volume_m3)
        inside = humidity_ratio(vapour_kpa(climate.hourly.temperature_c, climate.hourly.humidity))
        outside = humidity_ratio(vapour_kpa(site.weather.temperature_c, site.weather.humidity))
        out_kg, in_kg = changed_kg * inside.sum(axis=1), changed_kg * outside.sum(axis=1)
        assert climate.balance.air_out_kg == pytest.approx(out_kg, rel=1e-6)
        assert climate.balance.air_in_kg == pytest.approx(in_kg, rel=1e-6)

    @given(seeds)
    def test_values_stay_where_they_belong(self, seed: int) -> None:
        hourly = climate_of(any_site(seed)).hourly
        assert np.all((hourly.humidity >= 0.0) & (hourly.humidity <= 1.0))
        for values in hourly[2:]:
            assert np.all(np.isfinite(values) & (values >= 0.0))
        assert np.all((hourly.condensed_kg == 0.0) | (hourly.humidity == 1.0))
        assert np.all(np.isfinite(hourly.temperature_c))


class TestLimits:
    @examples(10, soak=30)
    @given(seeds, st.floats(0.1, 300.0))
    def test_very_large_air_change_gives_the_law_in_outdoor_air(
        self, seed: int, load_kg: float
    ) -> None:
        lot = np.random.default_rng(seed)
        outdoor_c, humidity = lot.uniform(5.0, 30.0, HOURS), lot.uniform(0.1, 0.97, HOURS)
        site = Site(
            Houses(570.0),
            Weather(outdoor_c, humidity),
            Running(State.CLOSED, 1e7),
            Coats([0], [0], [0], [load_kg], [0.5]),
        )
        climate = climate_of(site)
        assert climate.progress[0] == pytest.approx(progress(outdoor_c, humidity), rel=1e-3)

    @examples(10, soak=30)
    @given(seeds)
    def test_open_is_the_law_in_outdoor_air_and_logged_in_logged_air(self, seed: int) -> None:
        site = any_site(seed)
        weather, running = site.weather, site.running
        outdoors = np.asarray(weather.temperature_c), np.asarray(weather.humidity)
        measured = np.asarray(running.logged_c), np.asarray(running.logged_humidity)
        for state, (celsius, humidity) in ((State.OPEN, outdoors), (State.LOGGED, measured)):
            climate = climate_of(replace(site, running=replace(running, state=state)))
            for house in range(3):
                law = progress(celsius[house], humidity[house])
                assert climate.progress[house] == pytest.approx(law)

    @pytest.mark.parametrize("state", [State.CLOSED, State.HEATED])
    def test_sealed_without_a_dryer_the_air_saturates_and_drying_stops(self, state: State) -> None:
        site = held_house(load_kg=50.0, air_changes_per_h=0.0, outdoor=(12.0, 0.7))
        site = replace(site, running=replace(site.running, state=state))
        hourly = climate_of(site).hourly
        assert hourly.humidity[0, -1] > 0.999
        assert hourly.evaporated_kg[0, -24:].sum() < 1e-2
        # All that the air of 570 m3 takes up at the temperature it has.
        saturated = humidity_ratio(saturation_kpa(hourly.temperature_c[0, -1]))
        at_first = humidity_ratio(vapour_kpa(12.0, 0.7))
        holds_kg = 1.2 * 570.0 * float(saturated - at_first)
        assert hourly.evaporated_kg[0].sum() == pytest.approx(holds_kg, rel=0.01)

    def test_a_sealed_house_that_cools_condenses_what_its_air_cannot_hold(self) -> None:
        outdoor_c = np.concatenate((np.full(48, 25.0), np.full(96, 5.0)))
        site = Site(
            Houses(500.0), Weather(outdoor_c, 0.6), Running(State.CLOSED, 0.0), start_humidity=0.8
        )
        climate = climate_of(site)
        at_end = humidity_ratio(saturation_kpa(climate.hourly.temperature_c[0, -1]))
        expected = climate.balance.before_kg[0] - 600.0 * float(at_end)
        assert climate.balance.condensed_kg[0] == pytest.approx(expected, rel=1e-6)
        assert expected > 5.0

    def test_a_film_goes_back_into_the_air_before_coats_dry_on(self) -> None:
        outdoor_c = np.concatenate((np.full(30, 5.0), np.full(90, 25.0)))
        outdoor_humidity = np.concatenate((np.full(30, 0.9), np.full(90, 0.4)))
        site = Site(
            Houses(500.0),
            Weather(outdoor_c, outdoor_humidity),
            Running(State.CLOSED, np.where(np.arange(120) < 30, 0.0, 0.5)),
            Coats([0], [0], [0], [5.0], [1.0]),
            start_c=25.0,
            start_humidity=0.9,
        )
        hourly = climate_of(site).hourly
        filmed = hourly.condensed_kg[0] > 0.0
        assert filmed.any()
        assert not filmed[-1]
        assert np.all(hourly.evaporated_kg[0, filmed] == 0.0)
        film_gone = int(np.flatnonzero(filmed)[-1]) + 1
        assert np.all(hourly.evaporated_kg[0, film_gone : film_gone + 3] > 0.0)

    def test_a_coat_without_water_in_a_held_house_dries_by_the_law(self) -> None:
        climate = climate_of(held_house(load_kg=0.0, outdoor=(20.0, 0.5)))
        assert climate.dry_hours[0] == pytest.approx(float(drying_hours(20.0, 0.5)))


def explicit_dry_hour(site: Site, *, load_kg: float, outdoor: tuple[float, float]) -> float:
    """Return when the coat of a held house is dry, by short explicit steps of kg in and out."""
    steps = 240
    dry_air_kg, water_kg = 1.2 * 570.0, load_kg
    outside = float(humidity_ratio(vapour_kpa(*outdoor)))
    saturation = float(saturation_kpa(20.0))
    vapour_kg = dry_air_kg * outside
    for step in range(steps * 400):
        ratio = vapour_kg / dry_air_kg
        humidity = 101.325 * ratio / (0.621945 + ratio) / saturation
        done = saturation**1.04 * max(1.0 - humidity, 0.0) ** 0.90 / 23.0 / steps
        if done * load_kg >= water_kg:
            return step / steps
        water_kg -= done * load_kg
        vapour_kg += done * load_kg - 0.5 / steps * (vapour_kg - dry_air_kg * outside)
    return float("inf")


@pytest.mark.parametrize("load_kg", [5.0, 47.0, 150.0])
def test_hourly_steps_against_steps_of_fifteen_seconds(load_kg: float) -> None:
    outdoor = (15.0, 0.6)
    site = held_house(load_kg=load_kg, outdoor=outdoor)
    expected = explicit_dry_hour(site, load_kg=load_kg, outdoor=outdoor)
    assert climate_of(site).dry_hours[0] == pytest.approx(expected, rel=0.01, abs=0.25)


@pytest.mark.parametrize("air_changes_per_h", [0.0, 0.5, 20.0, 1e5])
@pytest.mark.parametrize("load_kg", [1.0, 1e3, 1e5])
def test_steady_air_does_not_swing(air_changes_per_h: float, load_kg: float) -> None:
    site = held_house(load_kg=load_kg, air_changes_per_h=air_changes_per_h, amount=1e3)
    humidity = climate_of(site).hourly.humidity[0]
    assert np.all(np.diff(humidity) >= -1e-6)


loads = st.floats(0.1, 300.0)
outdoors = st.tuples(st.floats(-5.0, 19.0), st.floats(0.1, 1.0))
changes = st.floats(0.0, 10.0)


def drying_of(**site: object) -> FloatArray:
    progress_by_house: FloatArray = climate_of(held_house(**site)).progress  # type: ignore[arg-type]
    return np.asarray(progress_by_house[0])


class TestOrderings:
    """Hour by hour, in any houses and weather."""

    def closed(self, seed: int) -> Site:
        """Return closed and heated houses, with a coat in each from the start."""
        site = any_site(seed)
        state = np.where(np.asarray(site.running.state) == State.HEATED, State.HEATED, State.CLOSED)
        coats = Coats([0, 1, 2], 0, 0, 20.0, [1.0] * 3)
        return replace(site, running=replace(site.running, state=state), coats=coats)

    @examples(20, soak=60)
    @given(seeds, st.floats(0.1, 300.0), st.booleans())
    def test_more_load_never_dries_sooner(self, seed: int, more: float, drains: bool) -> None:
        site = self.closed(seed)
        if drains:
            site = replace(site, dryers=replace(site.dryers, tank_l=np.inf))
        loaded = replace(site, coats=replace(site.coats, water_kg=20.0 + more))
        assert np.all(climate_of(loaded).progress <= climate_of(site).progress + 1e-6)

    @examples(20, soak=60)
    @given(seeds)
    def test_a_dryer_never_slows(self, seed: int) -> None:
        site = self.closed(seed)
        more = replace(site.dryers, count=np.asarray(site.dryers.count) + 1)
        with_one = climate_of(replace(site, dryers=more))
        assert np.all(with_one.progress >= climate_of(site).progress - 1e-6)

    @examples(20, soak=60)
    @given(loads, outdoors, changes, st.floats(0.1, 10.0))
    def test_more_air_dries_no_later_where_outdoors_is_drier(
        self, load: float, outdoor: tuple[float, float], change: float, more: float
    ) -> None:
        # Held at one temperature: starting as damp as outdoors, a house with wet coats is never
        # drier than that.
        around = {"outdoor": outdoor, "load_kg": load, "hours": 100}
        less, most = (drying_of(air_changes_per_h=n, **around) for n in (change, change + more))
        assert np.all(most >= less - 1e-6)


class TestDryers:
    def sealed(self, **dryers: object) -> Climate:
        site = held_house(load_kg=100.0, air_changes_per_h=0.0, hours=120)
        return climate_of(replace(site, dryers=Dryers(1, 40.0, **dryers)))  # type: ignore[arg-type]

    def test_one_with_a_tank_stops_when_it_is_full(self) -> None:
        climate = self.sealed(tank_l=10.0)
        assert climate.balance.removed_kg[0] == pytest.approx(10.0)
        full = climate.hourly.tank_kg[0] >= 10.0 - 1e-9
        assert np.all(climate.hourly.removed_kg[0, 1:][full[:-1]] == 0.0)
        assert climate.hourly.humidity[0, -1] > 0.99

    def test_one_that_is_emptied_daily_removes_a_tank_a_day(self) -> None:
        climate = self.sealed(tank_l=10.0, emptied=np.arange(120) % 24 == 8)
        assert climate.balance.removed_kg[0] == pytest.approx(60.0, rel=0.01)

    def test_one_that_drains_goes_on(self) -> None:
        climate = self.sealed()
        assert climate.balance.removed_kg[0] > 60.0

    def test_holds_its_humidity_as_long_as_it_keeps_up(self) -> None:
        site = held_house(load_kg=20.0, air_changes_per_h=0.1, outdoor=(18.0, 0.8), hours=60)
        site = replace(site, dryers=Dryers(4, 60.0, hold_humidity=0.55))
        humidity = climate_of(site).hourly.humidity[0, 5:]
        assert np.all((humidity >= 0.55 - HUMIDISTAT_BAND) & (humidity <= 0.55))

    def test_does_nothing_below_its_least_temperature(self) -> None:
        site = held_house(load_kg=20.0, held_c=4.0, outdoor=(0.0, 0.9), dryers=3)
        assert climate_of(site).balance.removed_kg[0] == 0.0


class TestHeat:
    def test_a_flame_leaves_its_water(self) -> None:
        # 1.63 kg of water a kg of propane at 12.87 kWh: 15 kW give 46 kg a day (stoichiometry).
        site = Site(
            Houses(600.0, heat_kw=15.0, flame_share=1.0),
            Weather(np.full(24, -20.0), 0.8),
            Running(State.HEATED, 1.0, setpoint_c=35.0),
        )
        climate = climate_of(site)
        assert climate.hourly.heat_kwh == pytest.approx(np.full((1, 24), 15.0))
        assert climate.balance.flame_kg[0] == pytest.approx(46.0, rel=0.01)

    def test_an_unheated_house_follows_outdoors_within_its_time_constant(self) -> None:
        # C / H = 12 / (0.5 + 0.5 x 1.2 x 1006 / 3600) = 18.0 h: after as long, 1 - 1/e of the way.
        site = Site(
            Houses(500.0),
            Weather(np.full(18, 0.0), 0.8),
            Running(State.CLOSED, 0.5),
            start_c=20.0,
        )
        at_end = climate_of(site).hourly.temperature_c[0, -1]
        assert at_end == pytest.approx(20.0 * np.exp(-1.0), rel=0.01)

    def test_heaters_too_small_hold_what_they_can(self) -> None:
        # 3 kW against 500 m3 x (0.5 + 0.5 x 0.3353) W/K: 9.0 K above outdoors in the end.
        site = Site(
            Houses(500.0, heat_kw=3.0),
            Weather(np.full(300, 2.0), 0.8),
            Running(State.HEATED, 0.5, setpoint_c=20.0),
            start_c=2.0,
        )
        hourly = climate_of(site).hourly
        assert hourly.temperature_c[0, -1] == pytest.approx(11.0, abs=0.05)
        assert hourly.heat_kwh[0] == pytest.approx(np.full(300, 3.0))


class TestCoatsOverCoats:
    def test_water_under_a_coat_is_carried_into_its_drying(self) -> None:
        site = held_house(load_kg=1e-6, air_changes_per_h=100.0, outdoor=(20.0, 0.5))
        over = replace(site, coats=Coats([0, 0], [0, 0], [0, 5], [1e-6] * 2, [1.0, 0.5]))
        beside = replace(site, coats=Coats([0, 0], [0, 1], [0, 5], [1e-6] * 2, [1.0, 0.5]))
        done = climate_of(over).progress[0]
        expected = [float(dry_at(done, 0.0, 1.0)), float(dry_at(done, 0.0, 1.5))]
        assert climate_of(over).dry_hours == pytest.approx(expected)
        assert climate_of(beside).dry_hours[1] == pytest.approx(float(dry_at(done, 5.0, 0.5)))

    def test_houses_do_not_touch_each_other(self) -> None:
        sites = [any_site(seed) for seed in range(5)]
        for site in sites:
            whole = climate_of(site)
            for house in range(3):
                alone = climate_of(only_house(site, house))
                assert alone.hourly.humidity[0] == pytest.approx(
                    whole.hourly.humidity[house], abs=1e-6
                )


def only_house(site: Site, house: int) -> Site:
    """Return a site of one of the three houses of ``any_site``."""
    rows = slice(house, house + 1)

    def cut[Part](part: Part, *, fields: dict[str, np.ndarray]) -> Part:
        return replace(part, **{name: value[rows] for name, value in fields.items()})  # type: ignore[type-var]

    def arrays(part: object) -> dict[str, np.ndarray]:
        names = part.__dataclass_fields__  # type: ignore[attr-defined]
        values = {name: getattr(part, name) for name in names}
        return {name: value for name, value in values.items() if isinstance(value, np.ndarray)}

    here = np.asarray(site.coats.house) == house
    coats = Coats(
        np.zeros(here.sum(), dtype=int),
        *(np.asarray(getattr(site.coats, n))[here] for n in ("wall", "hour", "water_kg", "amount")),
    )
    return Site(
        cut(site.houses, fields=arrays(site.houses)),
        cut(site.weather, fields=arrays(site.weather)),
        cut(site.running, fields=arrays(site.running)),
        coats,
        cut(site.dryers, fields=arrays(site.dryers)),
    )
