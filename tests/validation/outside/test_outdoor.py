"""The outdoor generator against Seattle: the hourly normals of a year and four years of daily records that vega-datasets
ships (both of the US National Oceanic and Atmospheric Administration).

The normals are means over many years, without weather: they show the form and its phases. The daily records show how
long the weather stays as it is. Independent: no number of the model comes from these series.
"""

from dataclasses import dataclass
from functools import cache

import numpy as np
import pandas as pd
import pytest
from scipy import stats
from vega_datasets import local_data

import farrowtide
from farrowtide import _core

HOURS, DAYS = 24, 365
Z = 4
YEARS = 16
PIECE_DAYS = 46  # of a year, in one room


@dataclass(frozen=True)
class Swings:
    """What the model's form makes of a series."""

    mean: float
    annual: float
    warmest_day: float
    daily: float
    warmest_hour: float
    explained: float
    residual: np.ndarray


def fit(time: pd.Series, temperature: pd.Series) -> Swings:
    day, hour = 2 * np.pi * time.dt.day_of_year / DAYS, 2 * np.pi * time.dt.hour / HOURS
    form = np.column_stack([np.ones(len(time)), np.cos(day), np.sin(day), np.cos(hour), np.sin(hour)])
    mean, *waves = np.linalg.lstsq(form, temperature, rcond=None)[0]
    residual = temperature.to_numpy() - form @ [mean, *waves]
    year, clock = complex(*waves[:2]), complex(*waves[2:])
    return Swings(
        mean=mean,
        annual=abs(year),
        warmest_day=np.angle(year) / (2 * np.pi) * DAYS % DAYS,
        daily=abs(clock),
        warmest_hour=np.angle(clock) / (2 * np.pi) * HOURS % HOURS,
        explained=1 - residual.var() / temperature.var(),
        residual=residual,
    )


@cache
def seattle_normals() -> Swings:
    hours = local_data.seattle_temps()
    return fit(hours.date, (hours.temp - 32) / 1.8)


@cache
def seattle_days() -> tuple[np.ndarray, np.ndarray]:
    """Daily mean less its yearly swing, and how summery the day is, -1 to 1."""
    days = local_data.seattle_weather()
    swings = fit(days.date, (days.temp_max + days.temp_min) / 2)
    return swings.residual, np.cos(2 * np.pi * (days.date.dt.day_of_year.to_numpy() - swings.warmest_day) / DAYS)


@cache
def simulated_years() -> list[pd.DataFrame]:
    """Hours of years at a place whose normals are Seattle's, each year pieced together from several rooms."""
    normals = seattle_normals()
    place = {"mean": normals.mean, "annual_amplitude": normals.annual, "daily_amplitude": normals.daily}
    overlay = {
        f"climate.presets.{name}": {"value": [value] * 7, "outside_range": True} for name, value in place.items()
    }
    pieces = []
    for start in pd.date_range("2026-01-01", "2026-12-01", freq=f"{PIECE_DAYS}D"):
        days = {"loading": {"days_before_due": 10}, "group": {"lactation_days": 35}}
        scenario = {"title": "a year outdoors", "start": str(start.date()), "room": {"crates": 1}, **days}
        scenario |= {"climate": {"outdoor": "denmark"}, "herd": {"health": "off"}}  # no room ends before its time
        scenario = farrowtide.load(scenario).with_coefficients(overlay)
        hours = farrowtide.run(scenario, replications=YEARS, seed=start.day_of_year, record=["rooms"]).rooms
        hours = hours[hours.hour < HOURS * min(PIECE_DAYS, (pd.Timestamp("2027-01-01") - start).days)]
        time = start + pd.to_timedelta(hours.hour, unit="h")
        pieces.append(hours[["replicate", "outdoor_deg_c"]].assign(time=time, piece=start))
    hours = pd.concat(pieces)
    return [year for _, year in hours.groupby("replicate")]


def lag(values: np.ndarray, by: int = 1) -> float:
    return np.corrcoef(values[by:], values[:-by])[0, 1]


def test_two_waves_make_nearly_all_of_an_hourly_normal_year():
    assert seattle_normals().explained > 0.9


@pytest.mark.parametrize("name", ["warmest_day", "warmest_hour"])
def test_the_year_and_the_day_are_warmest_when_the_model_says(name):
    path = {"warmest_day": "climate.outdoor.warmest_day_north", "warmest_hour": "climate.outdoor.warmest_hour"}[name]
    assumed = _core.Coefficients.built_in().find(path)
    assert assumed.low[0] < getattr(seattle_normals(), name) < assumed.high[0]


def test_generated_years_have_the_swings_of_their_place():
    years = [fit(year.time, year.outdoor_deg_c) for year in simulated_years()]
    assert min(len(year) for year in simulated_years()) == DAYS * HOURS
    coefficients = _core.Coefficients.built_in()
    expected = {
        "mean": seattle_normals().mean,
        "annual": seattle_normals().annual,
        "daily": seattle_normals().daily,
        "warmest_day": coefficients.find("climate.outdoor.warmest_day_north").value[0],
        "warmest_hour": coefficients.find("climate.outdoor.warmest_hour").value[0],
    }
    for name, value in expected.items():
        found = [getattr(year, name) for year in years]
        assert abs(np.mean(found) - value) < Z * stats.sem(found), name


@cache
def simulated_days() -> list[tuple[np.ndarray, np.ndarray]]:
    """As `seattle_days`, one series a piece of a year."""
    days = []
    for year in simulated_years():
        swings = fit(year.time, year.outdoor_deg_c)
        summery = np.cos(2 * np.pi * (year.time.dt.day_of_year - swings.warmest_day) / DAYS)
        table = pd.DataFrame({"piece": year.piece, "day": year.time.dt.floor("D"), "summery": summery})
        table = table.assign(residual=swings.residual).groupby(["piece", "day"]).mean()
        days += [(piece.residual.to_numpy(), piece.summery.to_numpy()) for _, piece in table.groupby("piece")]
    return days


def months_of(record: np.ndarray) -> list[np.ndarray]:
    """Nearly independent parts of the four years, whose spread is the record's own error."""
    return np.array_split(record, 48)


@pytest.mark.parametrize("days", [1, 2, 3])
def test_weather_stays_as_long_as_on_record(days):
    """Correlation of the daily mean with that of some days later."""
    record, _ = seattle_days()
    pieces = [piece for piece, _ in simulated_days()]
    today = np.concatenate([piece[:-days] for piece in pieces])
    later = np.concatenate([piece[days:] for piece in pieces])
    error = stats.sem([lag(month, days) for month in months_of(record)])
    assert abs(np.corrcoef(today, later)[0, 1] - lag(record, days)) < Z * error


@pytest.mark.parametrize("sign", [pytest.param(1, id="summer"), pytest.param(-1, id="winter")])
def test_daily_means_vary_as_on_record(sign):
    record, summery = seattle_days()
    record = record[sign * summery > 0.7]
    found = np.concatenate([piece[sign * summer > 0.7] for piece, summer in simulated_days()])
    error = stats.sem([np.mean(month**2) for month in months_of(record)]) / (2 * record.std())
    assert abs(found.std() - record.std()) < Z * error
