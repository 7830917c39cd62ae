"""Outdoor weather recorded by a station near the farm, as the hours of a scenario."""

from __future__ import annotations

import datetime
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from farrowtide import _core
from farrowtide.delimited import Grid, read_delimited
from farrowtide.errors import UserError, did_you_mean
from farrowtide.inert_text import visible_line

_COLUMNS = ("time", "temperature_deg_c", "relative_humidity_percent")
_TIME = re.compile(r"(\d{4}-\d{2}-\d{2})[T ](\d{2}:\d{2})(:\d{2}(\.\d+)?)?")
_NUMBER = re.compile(r"[+-]?\d+([.,]\d*)?")
_LIMITS = {"temperature_deg_c": (-50, 55), "relative_humidity_percent": (1, 100)}  # of the keys that they become
_LONGEST_GAP_H = 3
_HOUR = datetime.timedelta(hours=1)


@dataclass(frozen=True)
class Weather:
    """Hourly weather from 00:00 of a day. `filled`: the hours that were interpolated, as "2026-01-20 05:00"."""

    temperature_deg_c: list[float]
    relative_humidity_percent: list[float] | None  # None where the file has no such column
    filled: list[str]

    def continued(self, days: int) -> Weather:
        """The same with the last day repeated until there are so many days."""
        hours = 24 * days

        def longer(series: list[float]) -> list[float]:
            return (series + series[-24:] * days)[:hours] if len(series) >= 24 else series

        humidity = self.relative_humidity_percent
        return Weather(longer(self.temperature_deg_c), humidity and longer(humidity), self.filled)


def read_weather(file: Path, start: datetime.date, days: int) -> Weather:
    """Reads the weather of so many days, or up to the last whole day in the file, from 00:00 on `start`.

    The file is CSV with the columns time (ISO 8601, local, without an offset), temperature_deg_c and, optionally,
    relative_humidity_percent; several rows in an hour are averaged, and gaps of up to three hours interpolated. Raises
    UserError with the line where a value cannot be read, times do not rise, a gap is longer or the start is not covered.
    """
    grid = read_delimited(file)
    place = _places(grid)
    hours = _hourly(grid, place)
    first = datetime.datetime.combine(start, datetime.time())
    until = first + datetime.timedelta(days=days)
    wanted = {hour: row for hour, row in hours.items() if first - _LONGEST_GAP_H * _HOUR <= hour < until}
    if not any(first <= hour for hour in wanted) or min(wanted) > first:
        covered = f"{min(hours):%Y-%m-%d %H:%M} to {max(hours):%Y-%m-%d %H:%M}"
        raise UserError(f"{grid.file}: the scenario starts on {start}, but the file covers {covered}")
    columns = [name for name in _COLUMNS[1:] if name in place]
    filled: list[str] = []
    complete = {hour: values for hour, values in _complete(grid, wanted, filled) if hour >= first}
    whole = len(complete) // 24 * 24
    series = [[values[number] for values in complete.values()][:whole] for number in range(len(columns))]
    last = first + whole * _HOUR
    return Weather(
        temperature_deg_c=series[0],
        relative_humidity_percent=series[1] if len(series) > 1 else None,
        filled=[hour for hour in filled if f"{first:%Y-%m-%d %H:%M}" <= hour < f"{last:%Y-%m-%d %H:%M}"],
    )


def humidity_percent(temperature_deg_c: list[float], coefficients: _core.Coefficients, preset: int) -> list[float]:
    """The relative humidity of hours of which only the temperature is known, as the engine has it for its presets.

    The dew point of a day is the lowest temperature of that day plus a difference that belongs to the preset, which is
    named by its place among the presets.
    """
    air = _core.Psychrometrics(coefficients)
    ratio = coefficients.find("room.moisture.molar_mass_ratio").value[0]
    below_k = coefficients.find("climate.presets.dew_point_below_daily_minimum").value[preset]

    def pressure(deg_c: float) -> float:
        """In proportion to the saturation pressure of water vapour."""
        moisture = air.humidity_ratio(deg_c, 100)
        return moisture / (ratio + moisture)

    percent = []
    for day in range(0, len(temperature_deg_c), 24):
        of_day = temperature_deg_c[day : day + 24]
        vapour = pressure(min(of_day) + below_k)
        percent += [min(100.0, max(1.0, round(100 * vapour / pressure(deg_c), 2))) for deg_c in of_day]
    return percent


def _places(grid: Grid) -> dict[str, int]:
    place = {heading.lower(): number for number, heading in enumerate(grid.headings)}
    for name in _COLUMNS[:2]:
        if name not in place:
            near = visible_line(did_you_mean(name, grid.headings))
            raise UserError(
                f"{grid.file}:{grid.heading_line}: there is no column '{name}' (it has {grid.shown_headings}).{near}"
            )
    return {name: place[name] for name in _COLUMNS if name in place}


def _hourly(grid: Grid, place: dict[str, int]) -> dict[datetime.datetime, tuple[int, list[float]]]:
    """The line and the mean values of each hour that has any. A value that is left empty makes no row."""
    rows: dict[datetime.datetime, tuple[int, list[list[float]]]] = {}
    before = None
    for line, row in zip(grid.lines, grid.rows, strict=True):
        cells = {name: row[number].strip() if number < len(row) else "" for name, number in place.items()}
        time = _time(cells["time"], f"{grid.file}:{line}")
        if before is not None and time < before:
            raise UserError(f"{grid.file}:{line}: time = {cells['time']}: is before the time in the row above")
        before = time
        if "" in cells.values():
            continue
        values = [_value(name, cells[name], f"{grid.file}:{line}") for name in _COLUMNS[1:] if name in cells]
        rows.setdefault(time.replace(minute=0, second=0, microsecond=0), (line, []))[1].append(values)
    if not rows:
        raise UserError(f"{grid.file}: has no row with a time and a temperature")
    return {hour: (line, [math.fsum(part) / len(part) for part in zip(*all_of_it, strict=True)])
            for hour, (line, all_of_it) in rows.items()}  # fmt: skip


def _time(text: str, place: str) -> datetime.datetime:
    found = _TIME.fullmatch(text)
    try:
        return datetime.datetime.fromisoformat(f"{found[1]} {found[2]}") if found else _no_time(text, place)
    except ValueError:
        return _no_time(text, place)


def _no_time(text: str, place: str) -> datetime.datetime:
    raise UserError(f"{place}: time = {visible_line(text):.60}: is not a time (local, as 2026-01-12T05:00, no offset)")


def _value(name: str, text: str, place: str) -> float:
    low, high = _LIMITS[name]
    value = float(text.replace(",", ".")) if _NUMBER.fullmatch(text) else math.nan
    if not low <= value <= high:
        degf = "; it looks like degF" if name == "temperature_deg_c" and high < value < 130 else ""
        raise UserError(f"{place}: {name} = {visible_line(text):.60}: is not a number from {low} to {high}{degf}")
    return value


def _complete(
    grid: Grid, hours: dict[datetime.datetime, tuple[int, list[float]]], filled: list[str]
) -> Iterator[tuple[datetime.datetime, list[float]]]:
    """Every hour from the first to the last, those between two rows interpolated and named in `filled`."""
    before: tuple[datetime.datetime, list[float]] | None = None
    for hour, (line, values) in hours.items():
        if before is not None:
            missing = round((hour - before[0]) / _HOUR) - 1
            if missing > _LONGEST_GAP_H:
                raise UserError(
                    f"{grid.file}:{line}: {missing} hours are missing before {hour:%Y-%m-%d %H:%M}; at most "
                    f"{_LONGEST_GAP_H} in a row are interpolated"
                )
            for step in range(1, missing + 1):
                share = step / (missing + 1)
                filled.append(f"{before[0] + step * _HOUR:%Y-%m-%d %H:%M}")
                between = [a + share * (b - a) for a, b in zip(before[1], values, strict=True)]
                yield before[0] + step * _HOUR, between
        yield hour, values
        before = hour, values
