"""Opens poles.geojson with GDAL and with a strict reader of RFC 7946.

Usage: layers.py PLAN_DIR
Needs the packages pyogrio (which carries GDAL) and geojson-validator. Run by .ci/run only.
"""

import csv
import json
import sys
from pathlib import Path

import geojson_validator
import pyogrio

# Seven decimals of a degree are about a centimetre: more would claim what no list knows.
MOST_DECIMALS = 7


def main(folder: Path) -> None:
    layer = folder / "poles.geojson"
    with open(folder / "schedule.csv", newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    placed = [row for row in rows if row["longitude"] and row["latitude"]]
    assert rows, "the schedule has no rows"

    info = pyogrio.read_info(layer)
    assert info["driver"] == "GeoJSON", info["driver"]
    assert info["crs"] in ("EPSG:4326", "OGC:CRS84"), info["crs"]
    assert info["features"] == len(placed), (info["features"], len(placed))
    assert not placed or info["geometry_type"] == "Point", info["geometry_type"]

    # A person's JSON reader: no number that is not one, no name twice in an object.
    collection = json.loads(
        layer.read_text(encoding="utf-8"),
        object_pairs_hook=no_name_twice,
        parse_constant=refuse_constant,
    )
    structure = geojson_validator.validate_structure(collection)
    assert not structure, structure
    geometries = geojson_validator.validate_geometries(collection)
    assert not geometries["invalid"], geometries["invalid"]

    for feature, row in zip(collection["features"], placed, strict=True):
        longitude, latitude = feature["geometry"]["coordinates"]
        assert -180 <= longitude <= 180 and -90 <= latitude <= 90
        for number in (longitude, latitude):
            assert len(repr(number).partition(".")[2]) <= MOST_DECIMALS, number
        assert (longitude, latitude) == (float(row["longitude"]), float(row["latitude"]))
        properties = feature["properties"]
        assert properties["caution"], "a feature without a caution"
        assert properties["status"] in ("planned", "deferred", "not_due")
        assert read_back(row["pole_id"]) == properties["pole_id"]
    if placed:
        west, south, east, north = collection["bbox"]
        for feature in collection["features"]:
            longitude, latitude = feature["geometry"]["coordinates"]
            assert west <= longitude <= east and south <= latitude <= north
    print(f"layers: {len(placed)} of {len(rows)} poles stand in {layer}, WGS 84, valid")


def read_back(text: str) -> str:
    """The text behind the apostrophe that keeps spreadsheets from taking it for a formula."""
    return text[1:] if text[:1] == "'" and text[1:2] in tuple("=+-@\t\r\n'") else text


def no_name_twice(pairs):
    names = [name for name, _ in pairs]
    assert len(names) == len(set(names)), names
    return dict(pairs)


def refuse_constant(name):
    raise AssertionError(f"{name} is no JSON")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
