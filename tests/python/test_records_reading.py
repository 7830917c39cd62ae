"""Records are read in the encodings and notations that farms have, and every bad row is told with its place.

The rows are invented. Each case of a bad record changes one good row and names the message that must follow.
"""

import datetime
import os
import random

import openpyxl
import pandas as pd
import pytest

import farrowtide
from farrowtide import records
from farrowtide.records.layout import layout, schema_file

TODAY = datetime.date(2026, 11, 1)
GOOD = {
    "sow": "A17",
    "parity": "3",
    "group": "w10",
    "room": "2",
    "loaded_on": "2026-03-02",
    "farrowed_on": "2026-03-06",
    "weaned_on": "2026-03-27",
    "duration_min": "260",
    "born_alive": "13",
    "stillborn": "1",
    "moved_in": "1",
    "moved_out": "2",
    "died": "1",
    "weaned": "11",
    "litter_weight_at_birth_kg": "18.9",
    "litter_weight_kg": "68.2",
    "weight_at_loading_kg": "251",
    "weight_at_weaning_kg": "216.5",
    "backfat_at_loading_mm": "16.5",
    "backfat_at_weaning_mm": "13",
    "treatments": "0",
    "served_on": "2026-04-01",
}
GOOD_DAY = {
    "sow": "A17",
    "room": "2",
    "date": "2026-03-10",
    "offered_kg": "5.5",
    "eaten_kg": "5.1",
    "water_l": "24",
    "temperature_deg_c": "21.5",
}


def lines_of(rows, separator=","):
    return [separator.join(rows[0]), *(separator.join(row.values()) for row in rows)]


def write(file, rows, *, separator=",", encoding="utf-8", before=()):
    file.write_bytes(("\n".join([*before, *lines_of(rows, separator)]) + "\n").encode(encoding))
    return file


def read(folder, rows, days=None, **options):
    days_file = write(folder / "days.csv", days) if days else None
    return records.read(write(folder / "farrowings.csv", rows), days_file, today=TODAY, **options)


def only(table):
    assert len(table) == 1, table.to_string()
    return table.iloc[0]


def test_a_good_row_is_read_as_it_is(tmp_path):
    read_in = read(tmp_path, [GOOD], [GOOD_DAY])
    assert len(read_in.rejected) == len(read_in.doubtful) == 0
    litter = only(read_in.farrowings)
    assert (litter["sow"], litter["parity"], litter["weaned"]) == ("A17", 3, 11)
    assert litter["weaned_on"] == pd.Timestamp("2026-03-27")
    assert litter["litter_weight_kg"] == 68.2
    assert only(read_in.days)["water_l"] == 24
    for name, table in (("farrowings", read_in.farrowings), ("days", read_in.days)):
        assert list(table) == list(layout(name).columns)
        assert [str(kind) for kind in table.dtypes] == [column.dtype for column in layout(name).columns.values()]


# What is changed in the good row, and the verdict, column and words of the message.
BAD_FARROWINGS = [
    ({"sow": ""}, "rejected", "sow", "is missing"),
    ({"parity": ""}, "rejected", "parity", "is missing (a whole number, 1 to 15)"),
    ({"parity": "third"}, "rejected", "parity", "is not a number"),
    ({"parity": "2.5"}, "rejected", "parity", "is not a whole number"),
    ({"parity": "0"}, "rejected", "parity", "is out of range"),
    ({"parity": "31"}, "rejected", "parity", "is out of range"),
    ({"born_alive": "-3"}, "rejected", "born_alive", "is negative"),
    ({"born_alive": "inf"}, "rejected", "born_alive", "is not a number"),
    (
        {"born_alive": "0", "stillborn": "0", "moved_out": "0", "died": "0"},
        "rejected",
        "born_alive",
        "no piglet was born",
    ),
    ({"farrowed_on": "06.03.2026"}, "rejected", "farrowed_on", 'name it in a mapping file (date_format: "%d.%m.%Y")'),
    ({"farrowed_on": "2026-02-30"}, "rejected", "farrowed_on", "there is no such day"),
    ({"farrowed_on": "1926-03-06"}, "rejected", "farrowed_on", "is before 1990-01-01"),
    ({"weaned_on": "2026-03-05"}, "rejected", "weaned_on", "is before she farrowed (2026-03-06)"),
    ({"weaned_on": "2026-06-27"}, "rejected", "weaned_on", "is 113 days after she farrowed (2026-03-06); more than 60"),
    ({"loaded_on": "2026-03-08"}, "rejected", "farrowed_on", "is before she was loaded (2026-03-08)"),
    ({"loaded_on": "2025-03-02"}, "rejected", "loaded_on", "more than 60"),
    ({"weaned": "14"}, "rejected", "weaned", "more were weaned than the 11 she nursed"),
    ({"died": "15"}, "rejected", "died", "more died than the 14 born alive and moved in"),
    ({"moved_out": "16"}, "rejected", "moved_out", "more were moved out than the 14"),
    ({"sow": "A" * 61}, "rejected", "sow", "is longer than 60 characters"),
    ({"sow": "A\x1b[2J"}, "rejected", "sow", "holds control characters"),
    ({"duration_min": "long"}, "doubtful", "duration_min", "is not a number"),
    ({"duration_min": "4.5"}, "doubtful", "duration_min", "it looks like hours"),
    ({"duration_min": "1800"}, "doubtful", "duration_min", "is a very long farrowing"),
    ({"treatments": "-1"}, "doubtful", "treatments", "is negative"),
    ({"served_on": "soon"}, "doubtful", "served_on", "is not year-month-day"),
    (
        {"served_on": "2026-03-20"},
        "doubtful",
        "served_on",
        "is before she was weaned (2026-03-27); the value is left out",
    ),
    ({"served_on": "2026-09-20"}, "doubtful", "served_on", "is more than 90 days after weaning"),
    ({"served_on": "2027-04-01"}, "doubtful", "served_on", "is in the future"),
    ({"litter_weight_kg": "6.2"}, "doubtful", "litter_weight_kg", "it looks like the weight of one piglet"),
    ({"litter_weight_kg": "150.4"}, "doubtful", "litter_weight_kg", "it looks like lb"),
    ({"litter_weight_at_birth_kg": "1.4"}, "doubtful", "litter_weight_at_birth_kg", "the weight of one piglet"),
    ({"litter_weight_at_birth_kg": "41.7"}, "doubtful", "litter_weight_at_birth_kg", "it looks like lb"),
    ({"weight_at_loading_kg": "553"}, "doubtful", "weight_at_loading_kg", "it looks like lb"),
    ({"weight_at_weaning_kg": "440"}, "doubtful", "weight_at_weaning_kg", "it looks like lb"),
    ({"weight_at_loading_kg": "445"}, "doubtful", "weight_at_loading_kg", "it looks like lb"),
    ({"weight_at_weaning_kg": "275"}, "doubtful", "weight_at_weaning_kg", "is above the weight at loading"),
    ({"weight_at_weaning_kg": "145"}, "doubtful", "weight_at_weaning_kg", "is far below the weight at loading"),
    ({"backfat_at_loading_mm": "0.6"}, "doubtful", "backfat_at_loading_mm", "is out of range"),
    ({"backfat_at_weaning_mm": "30"}, "doubtful", "backfat_at_weaning_mm", "differs by more than 10 mm"),
    ({"weaned": "8"}, "doubtful", "weaned", "3 piglets are unaccounted for"),
    ({"weaned_on": ""}, "doubtful", "weaned_on", "is missing, but 11 piglets were weaned"),
    ({"weaned": ""}, "doubtful", "litter_weight_kg", "no number of piglets weaned"),
    ({"weaned_on": "2026-03-12", "litter_weight_kg": "30"}, "doubtful", "weaned_on", "is only 6 days after"),
    ({"loaded_on": "2026-02-02"}, "doubtful", "loaded_on", "is 32 days before she farrowed"),
    ({"born_alive": "32", "died": "20"}, "doubtful", "born_alive", "are a very large litter"),
    (
        {"born_alive": "5", "stillborn": "9", "moved_in": "9", "litter_weight_at_birth_kg": ""},
        "doubtful",
        "stillborn",
        "may be exchanged",
    ),
    ({"weaned": "22", "born_alive": "24", "litter_weight_kg": "120"}, "doubtful", "weaned", "very many piglets"),
    ({"parity": "1", "weight_at_loading_kg": "350"}, "doubtful", "parity", "may be in lb"),
]


@pytest.mark.parametrize(("change", "verdict", "column", "words"), BAD_FARROWINGS, ids=lambda part: str(part)[:40])
def test_each_bad_farrowing_is_told_with_its_place(tmp_path, change, verdict, column, words):
    other = GOOD | {"sow": "B2"}
    read_in = read(tmp_path, [other, GOOD | change])
    told = only(getattr(read_in, verdict))
    assert (told["file"], told["line"], told["column"]) == (str(tmp_path / "farrowings.csv"), 3, column)
    assert words in told["reason"]
    assert "\x1b" not in told["value"]
    assert len(read_in.rejected) + len(read_in.doubtful) == 1
    (source,) = read_in.sources
    assert (source.rows, source.used, source.rejected) == (2, len(read_in.farrowings), int(verdict == "rejected"))


LATER = GOOD | {
    "parity": "4",
    "group": "w31",
    "loaded_on": "2026-07-27",
    "farrowed_on": "2026-07-31",
    "weaned_on": "2026-08-21",
    "served_on": "2026-08-26",
}
BAD_PAIRS = [
    ({}, "rejected", "sow", "the row is the same as line 2"),
    ({"weaned": "10"}, "rejected", "sow", "line 2 has the same sow and day, with other values"),
    (
        {
            "farrowed_on": "2026-05-01",
            "loaded_on": "2026-04-27",
            "weaned_on": "2026-05-22",
            "served_on": "",
            "parity": "4",
            "group": "w18",
        },
        "doubtful",
        "farrowed_on",
        "is 56 days after her farrowing in line 2",
    ),
    (LATER | {"parity": "2"}, "doubtful", "parity", "falls from 3 at her earlier farrowing in line 2"),
    (LATER | {"parity": "3"}, "doubtful", "parity", "is the same at her earlier farrowing in line 2"),
    (LATER | {"parity": "7"}, "doubtful", "parity", "rises from 3 in 147 days (line 2)"),
    (LATER | {"sow": "C9", "group": "w10"}, "doubtful", "group", "was loaded over 147 days"),
]


@pytest.mark.parametrize(("change", "verdict", "column", "words"), BAD_PAIRS, ids=lambda part: str(part)[:40])
def test_each_contradiction_between_rows_is_told(tmp_path, change, verdict, column, words):
    read_in = read(tmp_path, [GOOD, GOOD | change])
    told = only(getattr(read_in, verdict))
    assert (told["line"], told["column"]) == (2 if column == "group" else 3, column)
    assert words in told["reason"]


BAD_DAYS = [
    ({"sow": "", "room": ""}, "rejected", "sow", "neither a sow nor a room is named"),
    ({"date": ""}, "rejected", "date", "is missing"),
    ({"sow": "B99"}, "rejected", "sow", "there is no farrowing of this sow"),
    ({"sow": "BAD"}, "rejected", "sow", "the row of her farrowing is rejected"),
    ({"sow": "", "room": "9"}, "rejected", "room", "there is no farrowing in this room"),
    ({"date": "2026-05-10"}, "doubtful", "date", "is on no day of her stay"),
    ({"eaten_kg": "7.2"}, "doubtful", "eaten_kg", "1.7 kg more is eaten than was offered"),
    ({"eaten_kg": "51"}, "doubtful", "eaten_kg", "is out of range"),
    ({"eaten_kg": "-1"}, "doubtful", "eaten_kg", "is negative"),
    ({"temperature_deg_c": "71"}, "doubtful", "temperature_deg_c", "it looks like degF"),
    ({"temperature_deg_c": "2"}, "doubtful", "temperature_deg_c", "is very cold"),
    ({"water_l": "2.1"}, "doubtful", "water_l", "is very little water for 5.1 kg eaten"),
    (
        {"offered_kg": "", "eaten_kg": "", "water_l": "", "temperature_deg_c": ""},
        "rejected",
        "date",
        "nothing is recorded of this day",
    ),
    ({"date": "2026-03-11"}, "rejected", "date", "line 2 is of the same sow or room and day"),
]


@pytest.mark.parametrize(("change", "verdict", "column", "words"), BAD_DAYS, ids=lambda part: str(part)[:40])
def test_each_bad_day_is_told_with_its_place(tmp_path, change, verdict, column, words):
    rejected = GOOD | {"sow": "BAD", "weaned": "14"}
    read_in = read(tmp_path, [GOOD, rejected], [GOOD_DAY | {"date": "2026-03-11"}, GOOD_DAY | change])
    told = getattr(read_in, verdict)
    told = only(told[told["file"].str.endswith("days.csv")])
    assert (told["line"], told["column"]) == (3, column)
    assert words in told["reason"]
    days = read_in.sources[1]
    assert days.rows == days.used + days.rejected == 2


def test_a_group_without_a_name_is_that_of_a_room_and_day_of_loading(tmp_path):
    unnamed = GOOD | {"group": ""}
    rows = [unnamed, unnamed | {"sow": "B", "room": ""}, unnamed | {"sow": "C", "loaded_on": ""}]
    assert read(tmp_path, rows).farrowings["group"].tolist() == ["2 2026-03-02", "2026-03-02", pd.NA]


def test_a_value_that_is_left_out_is_not_used(tmp_path):
    read_in = read(tmp_path, [GOOD | {"litter_weight_kg": "6.2"}])
    assert only(read_in.farrowings)["litter_weight_kg"] is pd.NA


def test_all_that_is_wrong_is_told_at_once(tmp_path):
    read_in = read(tmp_path, [GOOD | {"parity": "x", "born_alive": "", "treatments": "-1"}, GOOD | {"sow": "B2"}])
    assert read_in.rejected["column"].tolist() == ["parity", "born_alive", "treatments"]
    assert set(read_in.rejected["line"]) == {2}
    assert len(read_in.farrowings) == 1


def test_the_room_of_a_row_that_is_too_long_is_not_guessed(tmp_path):
    file = tmp_path / "farrowings.csv"
    file.write_text("\n".join([*lines_of([GOOD]), ",".join([*GOOD.values(), "67", "5"])]) + "\n")
    told = only(records.read(file, today=TODAY).rejected)
    assert (told["line"], told["reason"]) == (3, "the row has 24 cells, but there are 22 headings")


def test_a_row_that_breaks_off_is_doubtful(tmp_path):
    file = tmp_path / "farrowings.csv"
    file.write_text("\n".join([*lines_of([GOOD]), ",".join(["B", *list(GOOD.values())[1:14]])]) + "\n")
    told = only(records.read(file, today=TODAY).doubtful)
    assert (told["line"], told["reason"]) == (3, "the row has 14 cells, but there are 22 headings")


def test_rows_are_conserved_whatever_is_in_them(tmp_path):
    """Fixed seed: cells are exchanged, emptied and damaged at random, and every row is used or rejected with a reason."""
    draw = random.Random(7)
    rows = []
    for number in range(400):
        row = GOOD | {"sow": f"S{draw.randrange(300)}"}
        for _ in range(draw.randrange(3)):
            row[draw.choice(list(GOOD))] = draw.choice(
                ["", "-5", "12,5", "abc", "2026-13-01", "1e3", "=1+1", "9" * 30, " "]
            )
        rows.append(row if number % 7 else dict(zip(GOOD, draw.sample(list(GOOD.values()), len(GOOD)), strict=True)))
    read_in = records.read(write(tmp_path / "f.csv", rows, separator=";"), today=TODAY)
    (source,) = read_in.sources
    assert source.rows == 400 == len(read_in.farrowings) + read_in.rejected["line"].nunique()
    assert not set(read_in.doubtful["line"]) & set(read_in.rejected["line"])


ENCODINGS = [("utf-8", "UTF-8"), ("utf-8-sig", "UTF-8"), ("utf-16", "UTF-16"), ("cp1252", "Windows-1252")]


@pytest.mark.parametrize(("encoding", "shown"), ENCODINGS)
@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_encodings_and_separators_are_found(tmp_path, encoding, shown, separator):
    rows = [GOOD | {"sow": f"Säu-{number}", "group": "März"} for number in range(5)]
    file = write(tmp_path / "f.csv", rows, separator=separator, encoding=encoding)
    read_in = records.read(file, today=TODAY)
    assert read_in.farrowings["sow"].tolist() == [row["sow"] for row in rows]
    assert shown in read_in.sources[0].written_in


def test_decimal_commas_are_found_and_the_other_mark_is_told(tmp_path):
    comma = {name: value.replace(".", ",") for name, value in GOOD.items()}
    rows = [comma, comma | {"sow": "B", "backfat_at_weaning_mm": "13.5"}]
    read_in = records.read(write(tmp_path / "f.csv", rows, separator=";"), today=TODAY)
    assert read_in.farrowings["litter_weight_kg"].tolist() == [68.2, 68.2]
    told = only(read_in.doubtful)
    assert (told["line"], told["column"]) == (3, "backfat_at_weaning_mm")
    assert "another decimal mark" in told["reason"]


@pytest.mark.parametrize(
    ("dates", "formats"),
    [
        (["12.01.2026", "16.01.2026"], '"%d.%m.%Y"'),
        (["01/12/2026", "01/16/2026"], '"%m/%d/%Y"'),
        (["12/01/2026", "16/01/2026", "31/31/2026"], '"%d/%m/%Y"'),
        (["01/12/2026", "02/11/2026"], '"%m/%d/%Y" or "%d/%m/%Y"'),
        (["16-01-26"], '"%d-%m-%y"'),
        (["16 Jan 2026"], "..."),
    ],
)
def test_dates_in_another_order_are_answered_by_the_formats_that_read_them(tmp_path, dates, formats):
    rows = [GOOD | {"sow": f"B{number}", "farrowed_on": date} for number, date in enumerate(dates)]
    told = read(tmp_path, rows).rejected
    assert len(told) == len(dates)
    assert told["reason"].str.contains(f"(date_format: {formats})", regex=False).all()


def test_where_no_row_can_be_used_the_first_reason_is_told(tmp_path):
    nothing = read(
        tmp_path, [GOOD | {"loaded_on": "x", "farrowed_on": "16.01.2026"}, GOOD | {"sow": "B2", "parity": "x"}]
    )
    with pytest.raises(farrowtide.UserError) as error:
        nothing.require("farrowings")
    place = f"{tmp_path / 'farrowings.csv'}:2: farrowed_on = 16.01.2026: is not year-month-day"
    assert str(error.value).startswith(f"no farrowing can be used: 2 rows rejected; {place}")
    days = read(tmp_path, [GOOD], [GOOD_DAY | {"date": "10.03.2026"}])
    days.require("farrowings")
    with pytest.raises(
        farrowtide.UserError, match=r"no row of the days can be used: 1 row rejected; .*days\.csv:2: date"
    ):
        days.require("days")
    with pytest.raises(farrowtide.UserError, match=r"^no farrowing can be used$"):
        records.Records(nothing.farrowings, nothing.days).require("farrowings")


def test_a_workbook_is_read_with_its_row_numbers(tmp_path):
    book = openpyxl.Workbook()
    book.active.title = "notes"
    sheet = book.create_sheet("farrowings")
    sheet.append(["# simulated from an invented farm"])
    sheet.append(list(GOOD))
    typed = GOOD | {"farrowed_on": datetime.datetime(2026, 3, 6), "parity": 3, "litter_weight_kg": 68.2}
    sheet.append(list(typed.values()))
    sheet.append([])
    sheet.append(list((typed | {"sow": "B", "weaned": "many"}).values()))
    book.save(tmp_path / "farm.xlsx")
    read_in = records.read(tmp_path / "farm.xlsx", today=TODAY)
    assert read_in.farrowings["litter_weight_kg"].tolist() == [68.2, 68.2]
    assert read_in.farrowings["farrowed_on"].tolist() == [pd.Timestamp("2026-03-06")] * 2
    assert read_in.doubtful["line"].tolist() == [5, 5]


def test_a_formula_without_its_value_is_an_error(tmp_path):
    book = openpyxl.Workbook()
    book.active.append(list(GOOD))
    book.active.append([*list(GOOD.values())[:-1], "=1+1"])
    book.save(tmp_path / "farm.xlsx")
    with pytest.raises(farrowtide.UserError, match="cell V2 holds a formula whose value is not in the file"):
        records.read(tmp_path / "farm.xlsx")


MAPPING = """\
mapping: 1
farrowings:
  delimiter: semicolon
  decimal: comma
  date_format: "%d.%m.%Y"
  missing: ["?"]
  columns:
    sow: Sau
    parity: Wurf Nr
    farrowed_on: Abferkeldatum
    born_alive: lebend
    stillborn: tot
    litter_weight_kg: {heading: Wurfgewicht, unit: lb}
    weaned: abgesetzt
    duration_min: {heading: Dauer, unit: h}
"""
OTHER_LAYOUT = """\
Sau;Wurf Nr;Abferkeldatum;lebend;tot;abgesetzt;Wurfgewicht;Dauer;Bemerkung
17;3;06.03.2026;13;1;11;150,5;4,5;x
18;2;07.03.2026;12;0;11;?;?;
"""


def test_another_layout_is_mapped(tmp_path):
    (tmp_path / "map.yaml").write_text(MAPPING)
    (tmp_path / "f.csv").write_text(OTHER_LAYOUT)
    read_in = records.read(tmp_path / "f.csv", mapping=tmp_path / "map.yaml", today=TODAY)
    litters = read_in.farrowings
    assert len(read_in.rejected) == 0
    assert litters["farrowed_on"].tolist() == [pd.Timestamp("2026-03-06"), pd.Timestamp("2026-03-07")]
    assert litters["litter_weight_kg"].tolist() == [pytest.approx(150.5 * 0.45359237), pd.NA]
    assert litters["duration_min"].tolist() == [270, pd.NA]
    assert read_in.sources[0].passed_over == ("Bemerkung",)


def test_mistakes_of_a_mapping_are_told_all_at_once_with_their_places(tmp_path):
    file = tmp_path / "map.yaml"
    file.write_text(
        "mapping: 1\n"
        "farrowings:\n"
        "  delimitr: semicolon\n"
        '  date_format: "%d.%m"\n'
        "  encoding: utf-9\n"
        "  decimal: dot\n"
        "  columns:\n"
        "    sow: 12\n"
        "    parrity: Wurf\n"
    )
    with pytest.raises(farrowtide.UserError) as raised:
        records.read(tmp_path / "f.csv", mapping=file)
    told = str(raised.value).splitlines()
    places = [line.removeprefix(f"{file}:").split(": ")[0] for line in told]
    assert places == ["3:3", "4:16", "5:13", "6:12", "8:10", "9:5"]
    assert told[0].endswith("Did you mean delimiter?")
    assert told[5].endswith("Did you mean parity?")


def test_units_and_headings_of_a_mapping_are_checked(tmp_path):
    file = tmp_path / "map.yaml"
    file.write_text(MAPPING.replace("unit: lb", "unit: pound").replace("sow: Sau", "sow: {heading: Sau, unit: kg}"))
    (tmp_path / "f.csv").write_text(OTHER_LAYOUT)
    with pytest.raises(farrowtide.UserError) as raised:
        records.read(tmp_path / "f.csv", mapping=file)
    assert [line.split("map.yaml:")[1].split(": ")[0] for line in str(raised.value).splitlines()] == ["8:31", "13:52"]
    file.write_text(MAPPING.replace("abgesetzt", "abgesezt"))
    with pytest.raises(farrowtide.UserError, match=r"map.yaml:14:13: .*abgesezt.*Did you mean abgesetzt\?"):
        records.read(tmp_path / "f.csv", mapping=file)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("mapping: [1", r"map.yaml:\d+:\d+: is not YAML"),
        ("mapping: 1\nmapping: 1\n", r"map.yaml:2:1: is not YAML: found duplicate key"),
        ("just text", "is not a mapping file"),
        ("farrowings: {}\n", "the key 'mapping' is missing"),
        ("", "is not a mapping file"),
    ],
)
def test_a_file_that_is_no_mapping_is_told(tmp_path, text, words):
    (tmp_path / "map.yaml").write_text(text)
    with pytest.raises(farrowtide.UserError, match=words):
        records.read(tmp_path / "f.csv", mapping=tmp_path / "map.yaml")


def fifo(file):
    os.mkfifo(file)


UNREADABLE = [
    (lambda file: None, "No such file"),
    (lambda file: file.mkdir(), "it is not a regular file|Is a directory"),
    (fifo, "it is not a regular file"),
    (lambda file: file.write_bytes(b""), "is empty"),
    (lambda file: file.write_bytes(b"\n \n"), "is empty"),
    (lambda file: file.write_bytes(b"# a remark\n"), "is empty"),
    (lambda file: file.write_text(",".join(GOOD) + "\n"), "has headings, but no row below them"),
    (lambda file: file.write_bytes(b"sow,parity\nA\x00,1\n"), r"farm.csv:2: holds NUL bytes"),
    (lambda file: file.write_bytes(b"\xff\xfes\x00o"), "is not UTF-16 text|there is no column"),
    (lambda file: file.write_text('sow,parity\n"A,1\n'), r"farm.csv:2: .*a quotation mark is never closed"),
    (lambda file: file.write_text("sow,partiy\nA,1\n"), r"no column 'parity'.*Did you mean 'partiy'\?"),
    (lambda file: file.write_text(",".join([*GOOD, "sow"]) + "\nA\n"), "the heading 'sow' is there more than once"),
    (lambda file: file.write_bytes(b"PK\x03\x04 no archive"), "is not a workbook"),
    (lambda file: file.write_bytes(b"\xd0\xcf\x11\xe0"), "workbook of an old kind"),
]


@pytest.mark.parametrize(("make", "words"), UNREADABLE, ids=[words[:30] for _, words in UNREADABLE])
def test_a_file_that_cannot_be_read_is_one_clear_error(tmp_path, make, words):
    file = tmp_path / "farm.csv"
    make(file)
    with pytest.raises(farrowtide.UserError, match=words):
        records.read(file)


def test_a_file_that_is_too_large_is_refused(tmp_path, monkeypatch):
    with open(tmp_path / "f.csv", "wb") as out:
        out.truncate((64 << 20) + 1)
    with pytest.raises(farrowtide.UserError, match="too large"):
        records.read(tmp_path / "f.csv")


def test_the_schemas_are_table_schemas():
    """Checked by what the Table Schema standard asks for (Data Package 2.0, from memory): names, types, constraints."""
    import json

    for name in ("farrowings", "days"):
        schema = json.loads(schema_file(name).read_text())
        names = [field["name"] for field in schema["fields"]]
        assert len(names) == len(set(names))
        for field in schema["fields"]:
            assert field["type"] in ("string", "integer", "number", "date")
            assert set(field.get("constraints", {})) <= {"required", "minimum", "maximum", "maxLength"}
            assert field["description"].endswith(".")


def test_simulated_records_are_read_back_without_a_finding_that_rejects(tmp_path, small_room):
    scenario = small_room.alternative("2 hand feeds")
    made = records.simulated(
        farrowtide.run(scenario, replications=20, record=["sows", "sow_days", "piglets"]), scenario
    )
    farrowings, days = made.write(tmp_path, remark="Simulated from an invented farm; not real records.")
    assert farrowings.read_text().startswith("# Simulated from an invented farm")
    read_in = records.read(farrowings, days, today=TODAY)
    assert len(read_in.rejected) == 0
    pd.testing.assert_frame_equal(read_in.farrowings, made.farrowings)
    pd.testing.assert_frame_equal(read_in.days, made.days)
