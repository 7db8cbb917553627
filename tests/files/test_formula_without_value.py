"""A formula whose result was never stored is read as empty, and that is told."""

import openpyxl
import pytest

from siteplan.files.spreadsheet import read_workbook
from siteplan.words import sentence


@pytest.mark.parametrize(("cell", "codes"), [("=1+1", ["formula_without_value"]), ("A2", [])])
def test_a_formula_without_a_value_is_told(tmp_path, cell, codes):
    book = openpyxl.Workbook()
    book.active.append(["id", "lat", "lon"])
    book.active.append([cell, 1.5, 2.5])
    book.save(tmp_path / "list.xlsx")
    (table,) = read_workbook(tmp_path / "list.xlsx")
    assert [note.code for note in table.notes] == codes
    for note in table.notes:
        assert "row number" in sentence(note) and "1 (row 2)" in sentence(note)
