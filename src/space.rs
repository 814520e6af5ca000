//! Where poles stand: distances, neighbours, boxes and walking orders on the earth.
//!
//! The only file that names `rstar`, and with [`mod@outline`] the only one that names `geo`. Distances are great circles on
//! a sphere of the mean earth radius (6,371,008.8 m, GRS 80; Moritz, "Geodetic Reference System 1980", Journal of Geodesy 74, 2000), which is up to
//! 0.6 % off the ellipsoid: spans, walks and neighbourhoods need no better. Where a person reads a distance it is the
//! geodesic of the WGS 84 ellipsoid (Karney, "Algorithms for geodesics", Journal of Geodesy 87, 2013). Knows places,
//! nothing of poles or lines.

pub mod outline;

use crate::maths::sin_cos;
use crate::pole::Place;
use geo::{Destination, Distance, Geodesic, Haversine, Point};
use rstar::RTree;
use rstar::primitives::GeomWithData;

/// A box of degrees. It spans the antimeridian when `west` is greater than `east` (RFC 7946, section 5.2).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BoundingBox {
    /// Least longitude, going east.
    pub west: f64,
    /// Least latitude.
    pub south: f64,
    /// Greatest longitude, going east.
    pub east: f64,
    /// Greatest latitude.
    pub north: f64,
}

/// Metres between two places, along the great circle.
pub fn distance(from: Place, to: Place) -> f64 {
    Haversine.distance(point(from), point(to))
}

/// The place `metres` from `from` in the direction `bearing` (degrees clockwise from north).
pub fn destination(from: Place, bearing: f64, metres: f64) -> Place {
    let there = Haversine.destination(point(from), bearing, metres);
    Place {
        longitude: there.x(),
        latitude: there.y(),
    }
}

/// Metres between two places along the ellipsoid: exact to a micrometre, and some ten times slower than [`distance`].
pub fn geodesic_distance(from: Place, to: Place) -> f64 {
    Geodesic.distance(point(from), point(to))
}

/// The smallest box around some places that lie within half the earth of each other; `None` without any place.
pub fn bounding_box(places: &[Place]) -> Option<BoundingBox> {
    let first = places.first()?;
    let mut found = BoundingBox {
        west: first.longitude,
        south: first.latitude,
        east: first.longitude,
        north: first.latitude,
    };
    for place in places {
        let longitude = longitude_beside(first.longitude, place.longitude);
        found.west = found.west.min(longitude);
        found.east = found.east.max(longitude);
        found.south = found.south.min(place.latitude);
        found.north = found.north.max(place.latitude);
    }
    found.west = wrapped(found.west);
    found.east = wrapped(found.east);
    Some(found)
}

/// An index of places that answers "what stands near here".
///
/// Places are indexed as points of the unit sphere, whose straight-line distance grows with the great circle: no
/// projection, no trouble at the antimeridian or at the ends of the earth.
#[derive(Debug, Clone)]
pub struct Neighbours {
    places: Vec<Place>,
    tree: RTree<GeomWithData<[f64; 3], u32>>,
}

impl Neighbours {
    /// The index of these places; answers name them by their position here.
    pub fn new(places: &[Place]) -> Self {
        let points = places
            .iter()
            .enumerate()
            .map(|(index, place)| GeomWithData::new(on_sphere(*place), index as u32))
            .collect();
        Self {
            places: places.to_vec(),
            tree: RTree::bulk_load(points),
        }
    }

    /// The `count` places nearest to `at` with their distances in metres, nearest first, ties by position.
    pub fn nearest(&self, at: Place, count: usize) -> Vec<(usize, f64)> {
        let mut found: Vec<(usize, f64)> = self
            .tree
            .nearest_neighbor_iter(&on_sphere(at))
            .take(count)
            .map(|near| self.measured(near.data, at))
            .collect();
        found.sort_by(nearer);
        found
    }

    /// All places within `metres` of `at` with their distances, nearest first, ties by position.
    pub fn within(&self, at: Place, metres: f64) -> Vec<(usize, f64)> {
        // The tree is asked for a hair more than the chord, so that rounding loses nobody; then the metres decide.
        let half_angle = (0.5 * metres / Haversine.radius()).min(std::f64::consts::FRAC_PI_2);
        let chord = 2.0 * sin_cos(half_angle).0 * (1.0 + 1e-9) + 1e-12;
        let mut found: Vec<(usize, f64)> = self
            .tree
            .locate_within_distance(on_sphere(at), chord * chord)
            .map(|near| self.measured(near.data, at))
            .filter(|(_, distance)| *distance <= metres)
            .collect();
        found.sort_by(nearer);
        found
    }

    fn measured(&self, index: u32, at: Place) -> (usize, f64) {
        let index = index as usize;
        (index, distance(at, self.places[index]))
    }
}

/// So many places are compared along one axis; beyond them an index answers.
const FEW: usize = 4096;

/// Metres from each place to the nearest other one; nothing where there is no other.
///
/// Along the axis in which the places are furthest apart nobody is nearer than the difference, so that only a few on either
/// side are measured.
pub fn to_the_nearest(places: &[Place]) -> Vec<f64> {
    if places.len() > FEW {
        let index = Neighbours::new(places);
        // The nearest is the place itself, or another at the same point.
        let others = places.iter().map(|place| index.nearest(*place, 2));
        return others
            .map(|near| near.last().map_or(0.0, |last| last.1))
            .collect();
    }
    let points: Vec<[f64; 3]> = places.iter().map(|place| on_sphere(*place)).collect();
    let extent = |axis: usize| {
        let along = || points.iter().map(|point| point[axis]);
        along().fold(f64::MIN, f64::max) - along().fold(f64::MAX, f64::min)
    };
    let axis = (0..3).max_by(|one, other| extent(*one).total_cmp(&extent(*other)));
    let along = |place: usize| points[place][axis.unwrap_or(0)];
    let mut order: Vec<usize> = (0..places.len()).collect();
    order.sort_by(|one, other| along(*one).total_cmp(&along(*other)));
    let mut metres = vec![0.0; places.len()];
    for (rank, here) in order.iter().enumerate() {
        let mut nearest = (f64::INFINITY, *here);
        let mut look = |others: &mut dyn Iterator<Item = &usize>| {
            for other in others {
                let off = along(*other) - along(*here);
                if off * off >= nearest.0 {
                    break;
                }
                let chord = squared_chord(points[*here], points[*other]);
                if chord < nearest.0 {
                    nearest = (chord, *other);
                }
            }
        };
        look(&mut order[rank + 1..].iter());
        look(&mut order[..rank].iter().rev());
        metres[*here] = distance(places[*here], places[nearest.1]);
    }
    metres
}

fn squared_chord(one: [f64; 3], other: [f64; 3]) -> f64 {
    let [x, y, z] = [0, 1, 2].map(|axis| one[axis] - other[axis]);
    x * x + y * y + z * z
}

/// An order in which to walk from `start` to all places: always on to the nearest that was not visited, ties by
/// position. Empty when `start` is not one of them. For packages of a few hundred poles: the time grows with the square.
pub fn walking_order(places: &[Place], start: usize) -> Vec<usize> {
    if start >= places.len() {
        return Vec::new();
    }
    let mut left: Vec<usize> = (0..places.len()).filter(|index| *index != start).collect();
    let mut order = vec![start];
    let mut here = places[start];
    while let Some(next) = left
        .iter()
        .map(|index| (*index, distance(here, places[*index])))
        .min_by(nearer)
    {
        left.retain(|index| *index != next.0);
        order.push(next.0);
        here = places[next.0];
    }
    order
}

/// An empty stretch of this many metres parts neighbourhoods: nobody inspects on both sides of it in one round (judgement).
const EMPTY_STRETCH: f64 = 30_000.0;

/// Cuts places into about `parts` neighbourhoods of as equal size as can be, each in walking order from its westernmost
/// place; more of them where empty stretches part the places.
///
/// Cuts the longer side at its widest empty stretch, or else at its median, again and again: compact, the same for any
/// order of the input but for places at one point (ties by position), and quick for any number of places.
pub fn neighbourhoods(places: &[Place], parts: usize) -> Vec<Vec<usize>> {
    let mut cut = Vec::new();
    halve(places, (0..places.len()).collect(), parts.max(1), &mut cut);
    cut
}

fn halve(places: &[Place], mut members: Vec<usize>, parts: usize, cut: &mut Vec<Vec<usize>>) {
    let own: Vec<Place> = members.iter().map(|member| places[*member]).collect();
    let Some(side) = LongerSide::of(&own) else {
        return;
    };
    let along = |member: usize| side.metres(places[member]);
    members.sort_by(|a, b| along(*a).total_cmp(&along(*b)).then(a.cmp(b)));
    let gap = |place: usize| along(members[place]) - along(members[place - 1]);
    let widest = (1..members.len()).max_by(|a, b| gap(*a).total_cmp(&gap(*b)).then(b.cmp(a)));
    let (at, first) = match widest {
        Some(place) if gap(place) > EMPTY_STRETCH => {
            let share = parts as f64 * place as f64 / members.len() as f64;
            (place, (share.round() as usize).clamp(1, parts.max(2) - 1))
        }
        Some(_) if parts > 1 => (members.len() * (parts / 2) / parts, parts / 2),
        _ => {
            cut.push(walked(places, &members));
            return;
        }
    };
    let rest = members.split_off(at);
    halve(places, members, first, cut);
    halve(places, rest, parts.saturating_sub(first).max(1), cut);
}

/// Places in walking order from the westernmost.
fn walked(places: &[Place], members: &[usize]) -> Vec<usize> {
    let own: Vec<Place> = members.iter().map(|member| places[*member]).collect();
    let west = (0..own.len()).min_by(|a, b| own[*a].longitude.total_cmp(&own[*b].longitude));
    let order = west.map_or_else(Vec::new, |start| walking_order(&own, start));
    order.into_iter().map(|step| members[step]).collect()
}

/// The longer side of the box around some places.
struct LongerSide {
    east_west: bool,
    /// Longitude from which others are counted the short way round.
    reference: f64,
    metres_per_degree: f64,
}

impl LongerSide {
    fn of(places: &[Place]) -> Option<Self> {
        let all = bounding_box(places)?;
        let at = |longitude, latitude| Place {
            longitude,
            latitude,
        };
        let middle = f64::midpoint(all.south, all.north);
        let width = distance(at(all.west, middle), at(all.east, middle));
        let height = distance(at(all.west, all.south), at(all.west, all.north));
        let one_degree = |longitude, latitude| distance(at(0.0, middle), at(longitude, latitude));
        Some(Self {
            east_west: width > height,
            reference: places[0].longitude,
            metres_per_degree: if width > height {
                one_degree(1.0, middle)
            } else {
                one_degree(0.0, middle + 1.0)
            },
        })
    }

    /// How far along the side a place lies, metres from the equator or the first meridian.
    fn metres(&self, place: Place) -> f64 {
        let degrees = if self.east_west {
            longitude_beside(self.reference, place.longitude)
        } else {
            place.latitude
        };
        degrees * self.metres_per_degree
    }
}

fn nearer(a: &(usize, f64), b: &(usize, f64)) -> std::cmp::Ordering {
    a.1.total_cmp(&b.1).then(a.0.cmp(&b.0))
}

fn point(place: Place) -> Point {
    Point::new(place.longitude, place.latitude)
}

fn on_sphere(place: Place) -> [f64; 3] {
    let (east, north) = sin_cos(place.longitude.to_radians());
    let (up, level) = sin_cos(place.latitude.to_radians());
    [level * north, level * east, up]
}

/// The longitude counted on from `reference` the short way round; it may lie outside -180..=180.
fn longitude_beside(reference: f64, longitude: f64) -> f64 {
    if (longitude - reference).abs() <= 180.0 {
        return longitude;
    }
    longitude + 360.0 * ((reference - longitude) / 360.0).round()
}

fn wrapped(longitude: f64) -> f64 {
    if longitude > 180.0 {
        longitude - 360.0
    } else if longitude < -180.0 {
        longitude + 360.0
    } else {
        longitude
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chance::{Key, Purpose, Slot};

    /// A sphere of the mean radius is off by the flattening at most: 0.56 % on the geodesics below and others like them.
    const SPHERE_FOR_ELLIPSOID: f64 = 0.006;

    const fn at(longitude: f64, latitude: f64) -> Place {
        Place {
            longitude,
            latitude,
        }
    }

    fn scattered(count: u32) -> Vec<Place> {
        let key = Key::of(5, "scattered places");
        let draw = |index, visit| key.uniform(index, Slot::new(Purpose::Invent, 0, visit));
        (0..count)
            .map(|index| at(10.0 + 0.2 * draw(index, 0), 50.0 + 0.1 * draw(index, 1)))
            .collect()
    }

    #[test]
    fn distances_are_those_of_the_ellipsoid_to_within_a_sphere() {
        // Source: geodesics on WGS 84 by GeographicLib 2.1 (C. F. F. Karney, "Algorithms for geodesics", 2013).
        let geodesics = [
            (
                at(-97.447_073_647_238_72, 25.921_092_190_722_124),
                at(-97.447_05, 25.9215),
                45.241_951,
            ),
            (at(-88.2434, 40.1164), at(-81.4846, 41.134), 582_757.908_087),
            (at(0.0, 0.0), at(1.0, 0.0), 111_319.490_793),
            (at(0.0, 0.0), at(0.0, 1.0), 110_574.388_558),
            (at(25.0, 60.0), at(25.0, 61.0), 111_420.727_87),
            (at(179.9, -17.0), at(-179.9, -17.0), 21_297.165_228),
            (at(0.0, 89.9), at(180.0, 89.9), 22_338.795_683),
            (
                at(10.7522, 59.9139),
                at(147.3272, -42.8821),
                16_537_326.269_295,
            ),
        ];
        for (from, to, metres) in geodesics {
            let off = distance(from, to) / metres - 1.0;
            assert!(off.abs() < SPHERE_FOR_ELLIPSOID, "{from:?} {to:?}: {off}");
        }
        assert!(distance(at(-97.4, 25.9), at(-97.4, 25.9)).abs() < f64::EPSILON);
    }

    /// A millimetre, as references to a micrometre allow with room for rounding.
    const MILLIMETRE: f64 = 1e-3;

    #[test]
    fn geodesic_distances_are_those_of_the_ellipsoid_to_a_millimetre() {
        // Source: geodesics on WGS 84 by which GeographicLib 2.1 and pyproj 3.7.2 (PROJ 9.5.1) agree to a micrometre:
        // a span, points at one place, long ways, the antimeridian, both ends of the earth and nearly opposite points.
        let geodesics = [
            (
                at(-97.447_073_647_238_72, 25.921_092_190_722_124),
                at(-97.447_05, 25.921_499_999_999_99),
                45.241_951,
            ),
            (at(-97.447_05, 25.9215), at(-97.447_05, 25.9215), 0.0),
            (at(-88.2, 40.1), at(-88.2, 40.100_000_1), 0.011_104),
            (at(-88.2434, 40.1164), at(-81.4846, 41.134), 582_757.908_087),
            (
                at(-122.3321, 47.6062),
                at(-80.1918, 25.7617),
                4_400_475.435_783,
            ),
            (at(0.0, 0.0), at(1.0, 0.0), 111_319.490_793),
            (at(0.0, 0.0), at(0.0, 1.0), 110_574.388_558),
            (at(25.0, 60.0), at(25.0, 61.0), 111_420.727_87),
            (at(179.9, -17.0), at(-179.9, -17.0), 21_297.165_228),
            (at(177.0, 52.0), at(-176.0, 52.0), 480_560.368_205),
            (at(0.0, 90.0), at(0.0, -90.0), 20_003_931.458_625),
            (at(0.0, 89.9), at(180.0, 89.9), 22_338.795_683),
            (at(0.0, 0.0), at(179.7, 0.5), 19_944_127.420_75),
            (at(0.0, 0.0), at(180.0, 0.0), 20_003_931.458_625),
            (
                at(10.7522, 59.9139),
                at(147.3272, -42.8821),
                16_537_326.269_295,
            ),
            (at(-82.37, 29.63), at(-83.533, 31.483), 233_770.314_426),
            (at(-73.874, 40.7769), at(-0.4543, 51.47), 5_551_851.835_901),
        ];
        for (from, to, metres) in geodesics {
            let off = geodesic_distance(from, to) - metres;
            assert!(off.abs() < MILLIMETRE, "{from:?} {to:?}: {off}");
        }
    }

    #[test]
    fn geodesics_end_where_the_references_say() {
        // Source: the direct problem by the same two libraries, to 1e-10 degrees.
        let ways = [
            (
                at(-88.2434, 40.1164),
                37.5,
                50_000.0,
                at(-87.884_468_727_7, 40.473_082_059_4),
            ),
            (at(179.9, 0.0), 90.0, 50_000.0, at(-179.650_842_357_9, 0.0)),
            (
                at(147.33, -42.88),
                200.0,
                1_000_000.0,
                at(142.446_701_395_8, -51.238_662_187),
            ),
            (at(25.0, 60.0), 0.0, 1_111_950.0, at(25.0, 69.973_486_383_7)),
        ];
        for (from, bearing, metres, to) in ways {
            let there = Geodesic.destination(point(from), bearing, metres);
            let off = geodesic_distance(at(there.x(), there.y()), to);
            assert!(off < MILLIMETRE, "{from:?} {bearing}: {off}");
        }
    }

    #[test]
    fn a_destination_lies_as_far_as_it_was_asked_to() {
        let from = at(-35.0, 45.0);
        for bearing in [0.0, 45.0, 133.0, 270.0] {
            let there = destination(from, bearing, 47.0);
            // Degrees near 45 are kept to 7e-15: a micrometre is far above that and far below a pole's width.
            assert!((distance(from, there) - 47.0).abs() < 1e-6, "{bearing}");
        }
    }

    #[test]
    fn neighbours_are_those_of_a_plain_loop() {
        let places = scattered(700);
        let index = Neighbours::new(&places);
        for from in scattered(40) {
            let mut all: Vec<(usize, f64)> = places
                .iter()
                .enumerate()
                .map(|(position, place)| (position, distance(from, *place)))
                .collect();
            all.sort_by(nearer);
            assert_eq!(index.nearest(from, 9), all[..9]);
            let near: Vec<_> = all.into_iter().filter(|(_, far)| *far <= 800.0).collect();
            assert_eq!(index.within(from, 800.0), near);
        }
        assert_eq!(index.nearest(places[3], 1)[0].0, 3);
        assert!(Neighbours::new(&[]).nearest(places[0], 4).is_empty());
    }

    #[test]
    fn neighbours_are_found_across_the_antimeridian() {
        let index = Neighbours::new(&[at(179.999, 0.0), at(179.9, 0.0)]);
        assert_eq!(index.nearest(at(-179.999, 0.0), 1)[0].0, 0);
    }

    #[test]
    fn a_box_holds_its_places_and_may_span_the_antimeridian() {
        let found = bounding_box(&[at(179.5, -17.0), at(-179.5, -16.0)]).expect("two places");
        assert_eq!((found.west, found.east), (179.5, -179.5));
        assert_eq!((found.south, found.north), (-17.0, -16.0));
        assert_eq!(bounding_box(&[]), None);
    }

    #[test]
    fn a_walk_visits_every_place_once_and_goes_along_a_row() {
        let row: Vec<Place> = [0.0, 3.0, 1.0, 2.0]
            .map(|step| at(step / 1000.0, 10.0))
            .to_vec();
        assert_eq!(walking_order(&row, 0), [0, 2, 3, 1]);
        let mut all = walking_order(&scattered(50), 7);
        assert_eq!(all[0], 7);
        all.sort_unstable();
        assert_eq!(all, (0..50).collect::<Vec<_>>());
        assert!(walking_order(&[], 0).is_empty());
    }

    #[test]
    fn neighbourhoods_are_equal_compact_and_hold_every_place_once() {
        // Two towns of 30 places each, 300 km apart, listed in turns.
        let places: Vec<Place> = (0..60)
            .map(|number| Place {
                longitude: f64::from(number % 2) * 4.0 + f64::from(number / 2 % 6) * 0.01,
                latitude: 50.0 + f64::from(number / 12) * 0.01,
            })
            .collect();
        let cut = neighbourhoods(&places, 4);
        assert_eq!(cut.iter().map(Vec::len).collect::<Vec<_>>(), [15; 4]);
        let mut all: Vec<usize> = cut.concat();
        all.sort_unstable();
        assert_eq!(all, (0..60).collect::<Vec<_>>());
        for part in &cut {
            assert!(
                part.iter().all(|place| place % 2 == part[0] % 2),
                "a neighbourhood of two towns: {part:?}"
            );
        }
        assert!(neighbourhoods(&[], 3).is_empty());
        // However few parts are asked for, nobody walks from one town to the other.
        let towns = neighbourhoods(&places, 1);
        assert_eq!(towns.iter().map(Vec::len).collect::<Vec<_>>(), [30, 30]);
        assert!(
            towns
                .iter()
                .all(|part| part.iter().all(|place| place % 2 == part[0] % 2))
        );
    }

    /// What a place and its index may differ by in metres: the last digits of a chord of a unit sphere.
    const SAME_METRES: f64 = 1e-6;

    #[test]
    fn the_nearest_other_place_is_the_index_of_all_tells_it() {
        // A few thousand places by a linear congruence (Numerical Recipes' constants), some of them twice, on both sides of
        // the antimeridian.
        let mut state = 7_u32;
        let mut next = || {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            f64::from(state >> 8) / f64::from(1 << 24)
        };
        let mut places: Vec<Place> = (0..1_500)
            .map(|_| at(179.5 + next(), 60.0 + 0.2 * next()))
            .map(|place| {
                at(
                    if place.longitude > 180.0 {
                        place.longitude - 360.0
                    } else {
                        place.longitude
                    },
                    place.latitude,
                )
            })
            .collect();
        places.extend_from_within(..20);
        for few in [
            &places[..0],
            &places[..1],
            &places[..2],
            &places[1_490..],
            &places[..],
        ] {
            let index = Neighbours::new(few);
            for (place, metres) in few.iter().zip(to_the_nearest(few)) {
                let known = index.nearest(*place, 2).last().map_or(0.0, |near| near.1);
                assert!((known - metres).abs() < SAME_METRES, "{known} {metres}");
            }
        }
    }

    #[test]
    fn a_hundred_thousand_poles_at_one_place_are_no_more_work_than_elsewhere() {
        // With work for every pair each of these would take minutes.
        let crowd = vec![at(11.0, 50.0); 100_000];
        assert!(to_the_nearest(&crowd).iter().all(|metres| *metres == 0.0));
        assert!(
            to_the_nearest(&crowd[..FEW])
                .iter()
                .all(|metres| *metres == 0.0)
        );
        let cut = neighbourhoods(&crowd, 1_000);
        assert_eq!(cut.len(), 1_000);
        assert!(cut.iter().all(|part| part.len() == 100));
    }
}
