"""Draws poles.geojson with poles.sld, and packages.geojson, in QGIS without a screen, and checks the legend.

Usage: QT_QPA_PLATFORM=offscreen /usr/bin/python3 tests/outside/in_qgis.py PLAN_DIR OUT_DIR
Needs Debian's python3-qgis, and Debian's Python. Writes network.png, close.png and legend.png: look at them.
"""

import sys
from pathlib import Path

from qgis.core import (
    QgsApplication,
    QgsCoordinateReferenceSystem,
    QgsCoordinateTransform,
    QgsFillSymbol,
    QgsLineSymbol,
    QgsMapRendererParallelJob,
    QgsMapSettings,
    QgsProject,
    QgsRectangle,
    QgsVectorLayer,
)
from qgis.PyQt.QtCore import QSize, Qt
from qgis.PyQt.QtGui import QColor, QImage, QPainter

WEB_MERCATOR = QgsCoordinateReferenceSystem("EPSG:3857")


def main(plan: Path, out: Path) -> None:
    out.mkdir(parents=True, exist_ok=True)
    poles = opened(plan / "poles.geojson", "poles")
    told, read = poles.loadSldStyle(str(plan / "poles.sld"))
    assert read, told
    renderer = poles.renderer()
    assert renderer.type() == "RuleRenderer", renderer.type()
    rules = renderer.rootRule().children()
    seen = set()
    for rule in rules:
        assert rule.label() and not rule.filter().hasParserError(), rule.dump()
        drawn = {f.id() for f in poles.getFeatures(rule.filterExpression())}
        assert not drawn & seen, f"{rule.label()} draws what another rule draws"
        seen |= drawn
        print(f"{len(drawn):7}  {rule.label()}")
    missing = poles.featureCount() - len(seen)
    assert missing == 0, f"{missing} poles are drawn by no rule"

    areas = opened(plan / "packages.geojson|geometrytype=Polygon", "packages")
    routes = opened(plan / "packages.geojson|geometrytype=LineString", "ways")
    areas.renderer().setSymbol(
        QgsFillSymbol.createSimple({"color": "31,98,166,25", "outline_color": "#33475b"})
    )
    routes.renderer().setSymbol(QgsLineSymbol.createSimple({"color": "#51606f", "width": "0.3"}))
    for layer in (areas, routes):
        broken = [f.id() for f in layer.getFeatures() if not f.geometry().isGeosValid()]
        assert not broken, broken

    whole = to_map(poles.extent(), poles)
    whole.scale(1.05)
    draw([poles, routes, areas], whole, out / "network.png")
    urgent = next(poles.getFeatures("action = 'make_safe'"), None) or next(poles.getFeatures())
    close = to_map(urgent.geometry().boundingBox(), poles)
    draw([poles, routes, areas], close.buffered(1500), out / "close.png")
    legend(poles, rules, out / "legend.png")
    print(f"qgis: {poles.featureCount()} poles, {areas.featureCount()} packages, drawn to {out}")


def opened(path: Path, name: str) -> QgsVectorLayer:
    layer = QgsVectorLayer(str(path), name, "ogr")
    assert layer.isValid(), path
    QgsProject.instance().addMapLayer(layer)
    return layer


def to_map(extent: QgsRectangle, layer: QgsVectorLayer) -> QgsRectangle:
    turn = QgsCoordinateTransform(layer.crs(), WEB_MERCATOR, QgsProject.instance())
    return turn.transformBoundingBox(extent)


def draw(layers, extent: QgsRectangle, path: Path) -> None:
    settings = QgsMapSettings()
    settings.setLayers(layers)
    settings.setDestinationCrs(WEB_MERCATOR)
    settings.setTransformContext(QgsProject.instance().transformContext())
    settings.setBackgroundColor(QColor("#fbfbf9"))
    settings.setOutputSize(QSize(1400, 1000))
    settings.setExtent(extent)
    job = QgsMapRendererParallelJob(settings)
    job.start()
    job.waitForFinished()
    assert not job.errors(), [error.message for error in job.errors()]
    image = job.renderedImage()
    assert image.save(str(path)), path


def legend(layer: QgsVectorLayer, rules, path: Path) -> None:
    """The symbols with their titles, in the order of the style."""
    image = QImage(560, 20 + 36 * len(rules), QImage.Format_ARGB32)
    image.fill(Qt.white)
    painter = QPainter(image)
    for row, rule in enumerate(rules):
        symbol = rule.symbol().asImage(QSize(32, 32))
        painter.drawImage(8, 10 + 36 * row, symbol)
        painter.drawText(52, 32 + 36 * row, rule.label())
    painter.end()
    assert image.save(str(path)), path


if __name__ == "__main__":
    application = QgsApplication([], False)
    application.initQgis()
    try:
        main(Path(sys.argv[1]), Path(sys.argv[2]))
    finally:
        application.exitQgis()
