"""Opens the layers of a plan with GDAL and with a strict reader of RFC 7946, and holds the style to the layer.

Usage: layers.py PLAN_DIR
       layers.py --public PLAN_DIR
Needs the packages pyogrio (which carries GDAL) and geojson-validator. Run by .ci/run only.
"""

import csv
import json
import sys
from pathlib import Path
from xml.etree import ElementTree

import geojson_validator
import pyogrio

# Seven decimals of a degree are about a centimetre: more would claim what no list knows.
MOST_DECIMALS = 7
# What everybody may see tells no place nearer than a tenth of a degree.
MOST_PUBLIC_DECIMALS = 1

SLD = "{http://www.opengis.net/sld}"
OGC = "{http://www.opengis.net/ogc}"


def main(folder: Path) -> None:
    rows = table(folder / "schedule.csv")
    assert rows, "the schedule has no rows"
    collection = poles(folder / "poles.geojson", rows)
    packages(folder / "packages.geojson", table(folder / "packages.csv"))
    style(folder / "poles.sld", collection)


def table(path: Path) -> list[dict[str, str]]:
    with open(path, newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def opened(layer: Path, count: int | None = None) -> dict:
    """A layer that GDAL and the strict reader take."""
    info = pyogrio.read_info(layer)
    assert info["driver"] == "GeoJSON", info["driver"]
    assert info["crs"] in ("EPSG:4326", "OGC:CRS84"), info["crs"]
    # A person's JSON reader: no number that is not one, no name twice in an object.
    collection = json.loads(
        layer.read_text(encoding="utf-8"),
        object_pairs_hook=no_name_twice,
        parse_constant=refuse_constant,
    )
    assert info["features"] == len(collection["features"])
    assert count is None or info["features"] == count, (info["features"], count)
    structure = geojson_validator.validate_structure(collection)
    assert not structure, structure
    geometries = geojson_validator.validate_geometries(collection)
    assert not geometries["invalid"], geometries["invalid"]
    for feature in collection["features"]:
        assert feature["properties"]["caution"], "a feature without a caution"
        for longitude, latitude in positions(feature["geometry"]["coordinates"]):
            assert -180 <= longitude <= 180 and -90 <= latitude <= 90
            for number in (longitude, latitude):
                assert decimals(number) <= MOST_DECIMALS, number
            for box in filter(None, (collection["bbox"], feature.get("bbox"))):
                west, south, east, north = box
                assert south <= latitude <= north, box
                assert west > east or west <= longitude <= east, box
    return collection


def poles(layer: Path, rows: list[dict[str, str]]) -> dict:
    placed = [row for row in rows if row["longitude"] and row["latitude"]]
    collection = opened(layer, len(placed))
    # The most urgent pole stands last, so that nothing is drawn over it.
    for feature, row in zip(collection["features"], reversed(placed), strict=True):
        assert feature["geometry"]["type"] == "Point"
        longitude, latitude = feature["geometry"]["coordinates"]
        assert (longitude, latitude) == (float(row["longitude"]), float(row["latitude"]))
        properties = feature["properties"]
        assert properties["status"] in ("planned", "deferred", "not_due")
        assert read_back(row["pole_id"]) == properties["pole_id"]
    print(f"layers: {len(placed)} of {len(rows)} poles stand in {layer}, WGS 84, valid")
    return collection


def packages(layer: Path, rows: list[dict[str, str]]) -> None:
    collection = opened(layer)
    known = {row["number"]: row for row in rows}
    areas = 0
    for feature in collection["features"]:
        properties = feature["properties"]
        row = known[str(properties["number"])]
        kind = feature["geometry"]["type"]
        if properties["shape"] == "area":
            assert kind in ("Polygon", "MultiPolygon"), kind
            areas += 1
        else:
            assert properties["shape"] == "route" and kind in ("LineString", "MultiLineString")
        for name, text in row.items():
            assert says(text, properties[name]), (name, text, properties[name])
    assert 0 < areas <= len(rows), (areas, len(rows))
    assert set(pyogrio.read_info(layer)["fields"]) == {"shape", *rows[0]}
    print(f"layers: {areas} of {len(rows)} packages stand in {layer}")


def style(path: Path, collection: dict) -> None:
    """Every rule of the style names properties of the layer and words that the layer holds or may hold."""
    described = {}
    for row in table(path.parent / "columns.csv"):
        if row["file"] == "poles.geojson":
            described[row["column"]] = row["meaning"]
    first_year = json.loads((path.parent / "run.json").read_text())["plan_from"][:4]
    rules = ElementTree.parse(path).getroot().findall(f".//{SLD}Rule")
    assert rules, "a style without rules"
    assert "safe" in rules[0].find(f"{SLD}Title").text.lower()
    seen = set()
    for rule in rules:
        assert rule.find(f"{SLD}Title").text.strip()
        compared = rule.findall(f".//{OGC}PropertyName/..")
        assert compared, "a rule without a filter"
        for test in compared:
            name = test.find(f"{OGC}PropertyName").text
            literal = test.find(f"{OGC}Literal").text
            assert name in described, name
            if name == "year":
                assert abs(int(literal) - int(first_year)) <= 1, literal
            else:
                assert literal in described[name].replace(",", " ").split(), (name, literal)
                seen.add((name, literal))
    for feature in collection["features"]:
        properties = feature["properties"]
        drawn = {("action", properties["action"]), ("status", properties["status"])} & seen
        assert drawn, f"no rule draws {properties['action']}, {properties['status']}"
    print(f"layers: {len(rules)} rules of {path.name} name what poles.geojson holds")


def public(folder: Path) -> None:
    collection = opened(folder / "areas.geojson")
    for feature in collection["features"]:
        assert feature["geometry"]["type"] == "Polygon"
        for position in positions(feature["geometry"]["coordinates"]):
            assert all(decimals(number) <= MOST_PUBLIC_DECIMALS for number in position)
    total = sum(int(row["poles"]) for row in table(folder / "areas.csv"))
    assert total == json.loads((folder / "run.json").read_text())["poles"]
    print(f"layers: {len(collection['features'])} squares for everybody hold {total} poles")


def positions(coordinates):
    """All positions of a geometry, however deep they lie."""
    if isinstance(coordinates[0], (int, float)):
        yield coordinates
    else:
        for part in coordinates:
            yield from positions(part)


def decimals(number: float) -> int:
    text = repr(number)
    assert "e" not in text, text
    return len(text.partition(".")[2].rstrip("0"))


def says(text: str, value) -> bool:
    """Whether a cell of a text table is the value of a property."""
    if value is None:
        return text == ""
    return float(text) == value if isinstance(value, (int, float)) else read_back(text) == value


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
    if sys.argv[1] == "--public":
        public(Path(sys.argv[2]))
    else:
        main(Path(sys.argv[1]))
