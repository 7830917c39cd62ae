"""The tables that a report carries."""

import io

import openpyxl
import pytest

from farrowtide.report.workbook import workbook


@pytest.fixture(scope="module")
def book(comparison):
    return openpyxl.load_workbook(io.BytesIO(workbook(comparison)))


def test_the_workbook_holds_every_difference(comparison, book):
    head, *rows = book["differences"].iter_rows(values_only=True)
    assert len(rows) == len(comparison.differences)
    sizes = [row[head.index("difference")] for row in rows]
    known = comparison.differences["difference"].tolist()
    assert [size for size in sizes if size is not None] == pytest.approx([size for size in known if size == size])


def test_numbers_of_the_workbook_are_in_the_units_asked_for(comparison, book):
    pounds = openpyxl.load_workbook(io.BytesIO(workbook(comparison, "us")))

    def first_mean(opened):
        head, *rows = opened["means"].iter_rows(values_only=True)
        row = next(row for row in rows if row[head.index("output")] == "litter_weight_at_weaning_kg")
        return row[head.index("unit")], row[head.index("mean")]

    assert first_mean(book)[0] == "kg"
    assert first_mean(pounds)[0] == "lb"
    assert first_mean(pounds)[1] == pytest.approx(first_mean(book)[1] / 0.45359237)  # the pound by definition


def test_the_same_comparison_gives_the_same_bytes(comparison):
    assert workbook(comparison) == workbook(comparison)


def test_no_cell_is_a_formula(book):
    assert not [cell for sheet in book for row in sheet.iter_rows() for cell in row if cell.data_type == "f"]
