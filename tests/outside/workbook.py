"""Opens schedule.xlsx as a planner's program would, and holds it to the tables it repeats.

Usage: workbook.py PLAN_DIR [SCRATCH_DIR]
Needs the package openpyxl; with SCRATCH_DIR LibreOffice too, which opens the workbook, saves it there, and must have lost
and changed nothing. Run by .ci/run only. (`soffice --headless --convert-to pdf schedule.xlsx` shows how it prints.)
"""

import csv
import datetime
import subprocess
import sys
from pathlib import Path

import openpyxl

HEADER = 3
DAYS = {"due_date", "last_date", "need_by", "order_by", "arrives"}


def main(folder: Path, scratch: Path | None) -> None:
    read(folder, folder / "schedule.xlsx", "openpyxl")
    if scratch:
        # A profile of its own: an office that is open elsewhere must not answer.
        profile = f"-env:UserInstallation=file://{scratch.resolve()}/profile"
        office = ["soffice", profile, "--headless", "--convert-to", "xlsx", "--outdir", str(scratch), str(folder / "schedule.xlsx")]
        subprocess.run(office, check=True, capture_output=True, timeout=300)
        read(folder, scratch / "schedule.xlsx", "LibreOffice")


def read(folder: Path, workbook: Path, reader: str) -> None:
    book = openpyxl.load_workbook(workbook)
    assert book.sheetnames == ["schedule", "packages", "quantities", "orders", "assumptions", "cautions"]
    with open(folder / "schedule.csv", newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    first = min(int(row["year"]) for row in rows if row["year"])
    near = [
        row
        for row in rows
        if row["status"] == "deferred" or (row["year"] and int(row["year"]) <= first + 1)
    ]
    same(book["schedule"], near)
    for name in ("packages", "quantities", "orders"):
        with open(folder / f"{name}.csv", newline="", encoding="utf-8") as file:
            same(book[name], list(csv.DictReader(file)))
    for sheet in book:
        assert "never clears a pole" in sheet["A1"].value, sheet.title
        assert "never clears a pole" in sheet.oddHeader.center.text, sheet.title
        assert sheet.page_setup.orientation == "landscape", sheet.title
        assert sheet.print_title_rows == f"${HEADER}:${HEADER}", sheet.print_title_rows
        # Frozen panes belong to a window, and an office without one keeps none.
        assert reader == "LibreOffice" or sheet.freeze_panes.endswith(str(HEADER + 1)), sheet.freeze_panes
        assert sheet.auto_filter.ref, sheet.title
    print(f"workbook by {reader}: {len(near)} rows of the schedule and {len(book.sheetnames) - 1} more sheets, cell by cell")


def same(sheet, rows: list[dict[str, str]]) -> None:
    names = [cell.value for cell in sheet[HEADER]]
    assert names == list(rows[0]), sheet.title
    assert sheet.max_row == HEADER + len(rows), (sheet.title, sheet.max_row, len(rows))
    for cells, row in zip(sheet.iter_rows(min_row=HEADER + 1), rows, strict=True):
        for cell, (name, text) in zip(cells, row.items(), strict=True):
            assert cell.data_type != "f", cell.coordinate
            if not text:
                assert cell.value is None, cell.coordinate
            elif name in DAYS:
                assert isinstance(cell.value, datetime.datetime), cell.coordinate
                assert cell.value.date().isoformat() == text, cell.coordinate
            elif isinstance(cell.value, (int, float)):
                assert float(text) == cell.value, (cell.coordinate, text, cell.value)
            else:
                assert cell.value in (text, text[1:]), (cell.coordinate, text, cell.value)


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]) if len(sys.argv) > 2 else None)
