"""Exports of a day, a folder and an issued report say the same, and nothing is overwritten."""

import csv
import json

import openpyxl


def test_a_day_and_the_report_issued_from_it_export_the_same(tool, days, contract):
    tool("issue", days[0].name, "--identity", "demo", "-o", "demo.pdf")
    tool("export", days[0].name, "--to", "json", "-o", "day.json")
    tool("export", "demo.pdf", "--to", "json", "-o", "report.json")
    assert json.loads((contract / "day.json").read_bytes()) == json.loads((contract / "report.json").read_bytes())


def test_a_folder_goes_into_one_workbook_with_numbers_that_are_numbers(tool, contract):
    tool("export", ".", "--to", "xlsx", "-o", "all.xlsx")
    book = openpyxl.load_workbook(contract / "all.xlsx")
    sheet = book["readings"]
    assert sheet.freeze_panes is not None
    numbers = [cell.value for row in sheet.iter_rows(min_row=2) for cell in row if isinstance(cell.value, int | float)]
    assert len(numbers) > 100


def test_csv_tables_go_into_a_new_folder(tool, days, contract):
    tool("export", days[0].name, "--to", "csv", "-o", "tables")
    names = {path.name for path in (contract / "tables").iterdir()}
    assert {"readings.csv", "areas.csv"} <= names
    text = (contract / "tables" / "areas.csv").read_text(encoding="utf-8-sig")
    assert len(list(csv.reader(text.splitlines()))) > 1
    assert "exists already" in tool("export", days[0].name, "--to", "csv", "-o", "tables", code=2).stderr


def test_an_unknown_table_is_refused(tool, days):
    assert "there is no table `reading`" in tool(
        "export", days[0].name, "--to", "csv", "--table", "reading", code=2
    ).stderr.replace("\n", " ")
