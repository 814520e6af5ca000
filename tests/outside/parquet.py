"""Reads the Parquet copies of a plan with polars and with pandas and holds them to the CSV files.

Usage: parquet.py PLAN_DIR (a plan made with --parquet)
"""

import sys
from pathlib import Path

import pandas
import polars


def main(folder: Path) -> None:
    checked = 0
    for name in ("schedule", "quantities"):
        table = polars.read_parquet(folder / f"{name}.parquet")
        text = polars.read_csv(folder / f"{name}.csv", infer_schema_length=0)
        assert table.columns == text.columns, (name, set(table.columns) ^ set(text.columns))
        assert len(table) == len(text) > 0, name
        again = pandas.read_parquet(folder / f"{name}.parquet")
        assert list(again.columns) == table.columns and len(again) == len(table), name
        for column in table.columns:
            # Numbers are numbers: the same cells are empty, and the same number stands in each.
            own, cells = table[column], text[column]
            assert own.null_count() == cells.null_count() == int(again[column].isna().sum()), (name, column)
            if own.dtype.is_numeric():
                assert (own.cast(polars.Float64) - cells.cast(polars.Float64)).abs().max() in (None, 0.0), (name, column)
            else:
                assert own.cast(polars.String).equals(cells), (name, column)
            checked += 1
    # Days are texts of the form 2026-01-31, which both take as days.
    days = polars.read_parquet(folder / "schedule.parquet", columns=["due_date"])["due_date"]
    assert days.str.to_date(strict=True).null_count() == days.null_count() < len(days)
    print(f"parquet: {checked} columns read by polars and pandas as in the CSV files")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
