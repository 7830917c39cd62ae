"""What the fuzz targets read: for each, how bytes become a file, and the reader with all that follows from it."""

from __future__ import annotations

import contextlib
import datetime
import io
from collections.abc import Callable
from pathlib import Path

import openpyxl
from odd_files import Bytes, changed_archive, changed_text, delimited

import farrowtide
from farrowtide import UserError, records
from farrowtide.records.mapping import read_mapping
from farrowtide.scenarios import calibration
from farrowtide.scenarios.weather import read_weather

TODAY = datetime.date(2026, 11, 1)
START = datetime.datetime(2026, 1, 12)
FARROWINGS = """\
sow,parity,group,room,loaded_on,farrowed_on,weaned_on,duration_min,born_alive,stillborn,moved_in,moved_out,died,weaned,\
litter_weight_at_birth_kg,litter_weight_kg,weight_at_loading_kg,weight_at_weaning_kg,backfat_at_loading_mm,\
backfat_at_weaning_mm,treatments,served_on
A17,3,w10,2,2026-03-02,2026-03-06,2026-03-27,260,13,1,1,2,1,11,18.9,68.2,251,216.5,16.5,13,0,2026-04-01
A18,1,w10,2,2026-03-02,2026-03-07,2026-03-27,180,11,0,2,1,1,11,15.1,64.0,212,190.5,17.5,14,1,
B02,6,w10,2,2026-03-02,2026-03-05,2026-03-27,410,15,3,0,0,3,12,20.4,70.1,271,240,15,12,0,2026-04-02
A17,4,w31,2,2026-07-27,2026-07-31,2026-08-21,240,14,1,0,0,2,12,19.5,71.0,255,222,16,13,0,2026-08-26
"""
DAYS = """\
sow,room,date,offered_kg,eaten_kg,water_l,temperature_deg_c
A17,2,2026-03-10,5.5,5.1,24,21.5
A18,2,2026-03-10,5.0,4.9,22,21.5
B02,2,2026-03-11,6.5,6.4,30,21.0
"""
MAPPING = """\
mapping: 1
farrowings:
  encoding: utf-8
  delimiter: semicolon
  decimal: comma
  date_format: "%d.%m.%Y"
  missing: ["?"]
  columns:
    sow: Sau
    litter_weight_kg: {heading: Wurfgewicht, unit: lb}
days:
  sheet: "Tage"
  columns: {sow: Sau, date: Tag}
"""
CALIBRATION = """\
calibration: 1
made_by: "0.1.0 (results 7)"
scenario: farm.yaml
scenario_hash: 0123456789abcdef
seed: 1
records: {hash: 0123456789abcdef, farrowings: 40, farrowings_used: 30, days: 9, groups_used: [w1, w2], groups_kept_aside: [w3]}
levels:
  herd.intake_level: 1.02
  herd.milk_level: 0.98
coefficients: {}
posterior:
  names: [herd.intake_level, herd.milk_level]
  draws:
  - [1.01, 0.97]
  - [1.03, 0.99]
kept_aside: []
"""


def _rows(text: str) -> list[list[str]]:
    return [line.split(",") for line in text.splitlines()]


def _weather_rows() -> list[list[str]]:
    hours = (START + datetime.timedelta(hours=hour) for hour in range(-3, 75))
    rows = [[hour.isoformat(), f"{5 + hour.hour / 4}", "80"] for hour in hours]
    return [["time", "temperature_deg_c", "relative_humidity_percent"], *rows]


def _workbook() -> bytes:
    book = openpyxl.Workbook()
    book.active.title = "farrowings"
    for row in _rows(FARROWINGS):
        book.active.append([float(cell) if cell.replace(".", "").isdigit() else cell for cell in row])
    made = io.BytesIO()
    book.save(made)
    return made.getvalue()


_WEATHER, _WORKBOOK = _weather_rows(), _workbook()
_TABLES = {True: _rows(DAYS), False: _rows(FARROWINGS)}


def _holds_days(data: bytes) -> bool:
    return bool(data[:1]) and data[0] % 4 == 3


def _read_records(file: Path, data: bytes) -> None:
    """As the farrowings, or as the days beside a good file of farrowings; what was read is described as a farm."""
    if _holds_days(data):
        good = file.with_name("farrowings.csv")
        good.write_text(FARROWINGS)
        read_in = records.read(good, file, today=TODAY)
    else:
        read_in = records.read(file, today=TODAY)
    for source in read_in.sources:
        if source.rows != source.used + source.rejected:
            raise AssertionError(f"{source.table}: {source.rows} rows, {source.used} used, {source.rejected} rejected")
    with contextlib.suppress(UserError):  # of the farm, whose messages are not about the file
        records.describe(read_in)


def _read_weather(file: Path, data: bytes) -> None:
    weather = read_weather(file, START.date(), 3)
    if weather.relative_humidity_percent is not None:
        assert len(weather.temperature_deg_c) == len(weather.relative_humidity_percent)
    assert len(weather.temperature_deg_c) % 24 == 0


def _read_calibration(file: Path, data: bytes) -> None:
    read = calibration.read(calibration.text_of(str(file)), str(file))
    farrowtide.load({"title": "t", "room": {"crates": 1}}).with_calibration(read.source)


Maker = Callable[[bytes], bytes]
Reader = Callable[[Path, bytes], None]
READERS: dict[str, tuple[Maker, Reader]] = {
    "records": (lambda data: delimited(Bytes(data[1:]), _TABLES[_holds_days(data)]), _read_records),
    "weather": (lambda data: delimited(Bytes(data), _WEATHER), _read_weather),
    "mapping": (lambda data: changed_text(Bytes(data), MAPPING), lambda file, data: read_mapping(file)),
    "workbook": (
        lambda data: changed_archive(Bytes(data), _WORKBOOK),
        lambda file, data: records.read(file, today=TODAY),
    ),
    "calibration": (lambda data: changed_text(Bytes(data), CALIBRATION), _read_calibration),
}
