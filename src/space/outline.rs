//! Outlines and ways on a map: the ground around some places and the line along them, as RFC 7946 wants them.
//!
//! Drawn on the plate of degrees, cut at the antimeridian: for a map, not for measuring. Unions and cuts are the `geo`
//! library's. Knows places, nothing of poles or packages.

use super::{distance, longitude_beside};
use crate::maths::sin_cos;
use crate::pole::Place;
use geo::orient::Direction;
use geo::{
    BooleanOps, BoundingRect, ConvexHull, Coord, Haversine, LineString, MapCoords, MultiPoint,
    MultiPolygon, Orient, Point, Polygon, Rect, Validation, unary_union,
};

/// Corners of the disc drawn about a place for an outline.
const CORNERS: u8 = 8;

/// Steps to a degree of the grids that corners are rounded to: a decimetre, a centimetre, a tenth of a millimetre.
const STEPS: [f64; 3] = [1e6, 1e7, 1e9];

/// A polygon: its outer ring, counterclockwise, then its holes, clockwise (RFC 7946, section 3.1.6); each ring is closed.
pub type Rings = Vec<Vec<Place>>;

/// The ground within about `metres` of some places and of the hops between one and the next that are no longer than
/// `longest_hop` metres; none without any place. The places lie within half the earth of the first. What crosses the
/// antimeridian is cut there (RFC 7946, section 3.1.9).
///
/// Each place is taken as a disc of eight corners, so that one place, two or a straight line of them have an area too;
/// between its corners a disc's edge lies up to 8 % nearer. Corners are rounded to a decimetre, finer only where a ring
/// would cross itself.
pub fn outline(places: &[Place], metres: f64, longest_hop: f64) -> Vec<Rings> {
    let Some(first) = places.first() else {
        return Vec::new();
    };
    let unrolled: Vec<Place> = places
        .iter()
        .map(|place| Place {
            longitude: longitude_beside(first.longitude, place.longitude),
            ..*place
        })
        .collect();
    let discs = unrolled.iter().map(|place| hull(disc(*place, metres)));
    let hops = unrolled
        .windows(2)
        .filter(|pair| distance(pair[0], pair[1]) <= longest_hop)
        .map(|pair| hull(disc(pair[0], metres).chain(disc(pair[1], metres))));
    let pieces: Vec<Polygon> = discs.chain(hops).collect();
    as_fine_as_needed(on_this_turn(unary_union(&pieces)))
        .into_iter()
        .map(|polygon| rings(&polygon.orient(Direction::Default)))
        .collect()
}

/// An area with its corners on the coarsest grid on which it stays valid: an outline for a map claims no more.
fn as_fine_as_needed(area: MultiPolygon) -> MultiPolygon {
    let on_grid = |steps: f64| {
        area.map_coords(|corner| Coord {
            x: (corner.x * steps).round() / steps,
            y: (corner.y * steps).round() / steps,
        })
    };
    STEPS
        .into_iter()
        .map(on_grid)
        .find(Validation::is_valid)
        .unwrap_or(area)
}

fn hull(corners: impl Iterator<Item = Coord>) -> Polygon {
    MultiPoint(corners.map(Point::from).collect()).convex_hull()
}

/// The parts of an area on this turn of the earth, and those beyond the antimeridian turned back onto it.
fn on_this_turn(area: MultiPolygon) -> MultiPolygon {
    let within = |bounds: Rect| bounds.min().x >= -180.0 && bounds.max().x <= 180.0;
    if area.bounding_rect().is_none_or(within) {
        return area;
    }
    let parts = [-360.0, 0.0, 360.0].into_iter().flat_map(|turn| {
        let here = Rect::new((turn - 180.0, -90.0), (turn + 180.0, 90.0)).to_polygon();
        area.intersection(&here)
            .map_coords(move |corner| Coord {
                // The cut is exact to a millionth of a millimetre, not to the last bit.
                x: (corner.x - turn).clamp(-180.0, 180.0),
                ..corner
            })
            .into_iter()
    });
    MultiPolygon(parts.collect())
}

fn rings(polygon: &Polygon) -> Rings {
    let places = |ring: &LineString| ring.coords().map(|corner| place(*corner)).collect();
    let holes = polygon.interiors().iter().map(places);
    std::iter::once(places(polygon.exterior()))
        .chain(holes)
        .collect()
}

const fn place(corner: Coord) -> Place {
    Place {
        longitude: corner.x,
        latitude: corner.y,
    }
}

/// The way along some places, each within half the earth of the one before: one line, or more where it crosses the
/// antimeridian; none for fewer than two places.
pub fn way_along(places: &[Place]) -> Vec<Vec<Place>> {
    let mut found: Vec<Vec<Place>> = Vec::new();
    let mut open: Vec<Place> = places.iter().take(1).copied().collect();
    for pair in places.windows(2) {
        let ahead = longitude_beside(pair[0].longitude, pair[1].longitude);
        if ahead.abs() > 180.0 {
            let edge = 180.0_f64.copysign(ahead);
            let share = (edge - pair[0].longitude) / (ahead - pair[0].longitude);
            let latitude = pair[0].latitude + share * (pair[1].latitude - pair[0].latitude);
            let on_edge = |longitude| Place {
                longitude,
                latitude,
            };
            open.push(on_edge(edge));
            found.push(std::mem::replace(&mut open, vec![on_edge(-edge)]));
        }
        open.push(pair[1]);
    }
    if open.len() > 1 {
        found.push(open);
    }
    found
}

/// Corners of a disc about a place, on the plane that touches the earth there.
fn disc(at: Place, metres: f64) -> impl Iterator<Item = Coord> {
    let north = (metres / Haversine.radius()).to_degrees();
    // No nearer to the ends of the earth than wood grows: a degree of longitude must not vanish.
    let east = north / sin_cos(at.latitude.to_radians()).1.max(0.01);
    (0..CORNERS).map(move |corner| {
        let turn = f64::from(corner) / f64::from(CORNERS) * std::f64::consts::TAU;
        let (sine, cosine) = sin_cos(turn);
        Coord {
            x: at.longitude + east * cosine,
            y: at.latitude + north * sine,
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    const fn at(longitude: f64, latitude: f64) -> Place {
        Place {
            longitude,
            latitude,
        }
    }

    /// Twice the area on the plate of degrees: above 0 for a ring that runs counterclockwise.
    fn twice_the_area(ring: &[Place]) -> f64 {
        let step = |pair: &[Place]| {
            pair[0].longitude * pair[1].latitude - pair[1].longitude * pair[0].latitude
        };
        ring.windows(2).map(step).sum()
    }

    #[test]
    fn an_outline_is_closed_counterclockwise_and_as_wide_as_said() {
        let one = [at(10.0, 50.0)];
        let two = [at(10.0, 50.0), at(10.001, 50.0)];
        let straight = [at(10.0, 50.0), at(10.001, 50.0), at(10.002, 50.0)];
        let twice = [at(10.0, 50.0), at(10.0, 50.0)];
        for places in [&one[..], &two, &straight, &twice] {
            let parts = outline(places, 25.0, 500.0);
            assert_eq!((parts.len(), parts[0].len()), (1, 1));
            let ring = &parts[0][0];
            assert_eq!(ring.first(), ring.last());
            assert!(ring.len() > 4 && twice_the_area(ring) > 0.0, "{ring:?}");
            for corner in ring {
                let nearest = places.iter().map(|place| distance(*place, *corner));
                let nearest = nearest.fold(f64::INFINITY, f64::min);
                // The plane's disc and the sphere's circle differ by far less than a decimetre over 25 m.
                assert!((nearest - 25.0).abs() < 0.1, "{nearest}");
            }
        }
        assert!(outline(&[], 25.0, 500.0).is_empty());
    }

    #[test]
    fn an_outline_follows_the_hops_and_leaves_long_ones_out() {
        // Two spans of 72 m, and a third pole 1.4 km further on.
        let places = [at(10.0, 50.0), at(10.001, 50.0), at(10.021, 50.0)];
        assert_eq!(outline(&places, 25.0, 500.0).len(), 2);
        assert_eq!(outline(&places, 25.0, 5_000.0).len(), 1);
        // Round a square of 300 m by 4 hops: a ring with a hole, which runs clockwise.
        let square = [
            at(10.0, 50.0),
            at(10.004, 50.0),
            at(10.004, 50.003),
            at(10.0, 50.003),
            at(10.0, 50.0),
        ];
        let around = outline(&square, 25.0, 500.0);
        assert_eq!((around.len(), around[0].len()), (1, 2));
        assert!(twice_the_area(&around[0][0]) > 0.0 && twice_the_area(&around[0][1]) < 0.0);
    }

    #[test]
    fn rounding_lets_no_ring_cross_itself() {
        // A sliver of a millimetre between two discs' edges: on the grid of a decimetre the ring would fold onto itself.
        let ring = [
            (0.0, 0.0),
            (1e-4, 0.0),
            (1e-4, 1e-4),
            (6e-5, 2.4e-8),
            (4e-5, 2.6e-8),
            (0.0, 1e-4),
        ];
        let area = MultiPolygon(vec![Polygon::new(
            LineString::from(ring.to_vec()),
            Vec::new(),
        )]);
        let coarse = area.map_coords(|corner| Coord {
            x: (corner.x * STEPS[0]).round() / STEPS[0],
            y: (corner.y * STEPS[0]).round() / STEPS[0],
        });
        assert!(area.is_valid() && !coarse.is_valid());
        assert!(as_fine_as_needed(area).is_valid());
    }

    #[test]
    fn what_crosses_the_antimeridian_is_cut_there() {
        let places = [at(179.999, -17.0), at(-179.998, -17.0)];
        let parts = outline(&places, 25.0, 500.0);
        assert_eq!(parts.len(), 2);
        for ring in parts.iter().flatten() {
            assert!(ring.iter().all(|corner| corner.longitude.abs() <= 180.0));
            // The library cuts on a grid of far less than a micrometre.
            let edge = |corner: &Place| 180.0 - corner.longitude.abs() < 1e-9;
            assert!(ring.iter().any(edge));
            assert!(twice_the_area(ring) > 0.0);
            assert_eq!(ring.first(), ring.last());
        }
        let way = way_along(&places);
        assert_eq!(
            way,
            [
                vec![places[0], at(180.0, -17.0)],
                vec![at(-180.0, -17.0), places[1]]
            ]
        );
        assert_eq!(way_along(&[at(1.0, 1.0), at(2.0, 2.0)]).len(), 1);
        assert!(way_along(&places[..1]).is_empty() && way_along(&[]).is_empty());
    }
}
