"""Reads poles.parquet as GeoParquet and holds it to poles.geojson.

Usage: geoparquet.py PLAN_DIR
Needs the packages geopandas and pyarrow.
"""

import sys
from pathlib import Path

import geopandas


def main(folder: Path) -> None:
    columns = geopandas.read_parquet(folder / "poles.parquet")
    layer = geopandas.read_file(folder / "poles.geojson")
    assert columns.crs == layer.crs or columns.crs.to_epsg() in (4326, None), columns.crs
    assert len(columns) == len(layer)
    assert list(columns.columns) == list(layer.columns), (columns.columns, layer.columns)
    assert (columns.geometry.values == layer.geometry.values).all()
    assert (columns["pole_id"] == layer["pole_id"]).all()
    assert (columns["rank"] == layer["rank"]).all()
    print(f"geoparquet: {len(columns)} poles as in poles.geojson, {columns.crs.to_string()}")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
