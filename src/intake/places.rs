//! Where poles stand: coordinates held to the earth and to each other. Nothing is moved; what cannot be is unknown.

use super::cells::{Number, read_number};
use super::table::Row;
use crate::pole::Place;
use crate::problem::{Code, Problem};
use crate::programme::sources::Field;
use std::collections::BTreeMap;

/// Below this many places the others say nothing about where a pole should be.
const FEWEST_FOR_A_BOX: usize = 20;
/// The box around the poles spans this share of them, in each direction, and as much again on either side ...
const BOX_SHARE: f64 = 0.8;
/// ... but at least this many degrees.
const BOX_MARGIN: f64 = 0.5;
/// Values beyond this are no degrees with a slip of the pen: they are metres or feet.
const SURELY_PROJECTED: f64 = 1_000.0;
/// This many poles at one point are worth a note; two are an ordinary structure.
const MANY: usize = 3;

/// The two coordinates of a row, if both are numbers; problems otherwise.
pub(super) fn read_coordinates(
    row: Row<'_>,
    id: &str,
    problems: &mut Vec<Problem>,
) -> Option<(f64, f64)> {
    let given = (row.text(Field::Longitude), row.text(Field::Latitude));
    if let (Some(_), None) | (None, Some(_)) = given {
        let field = if given.0.is_some() {
            Field::Longitude
        } else {
            Field::Latitude
        };
        let what = "the other coordinate is missing".to_owned();
        problems.push(row.problem(Code::HalfPlace, field, id, what, UNKNOWN));
        return None;
    }
    let longitude = coordinate(row, Field::Longitude, 180.0, id, problems);
    let latitude = coordinate(row, Field::Latitude, 90.0, id, problems);
    longitude.zip(latitude)
}

const UNKNOWN: &str = "the place is taken as unknown";

fn coordinate(
    row: Row<'_>,
    field: Field,
    limit: f64,
    id: &str,
    problems: &mut Vec<Problem>,
) -> Option<f64> {
    let text = row.text(field)?;
    match read_number(text) {
        Some((Number::One(value), None)) => Some(value),
        // Thousands cannot be degrees.
        Some((Number::Either(_, decimal), None)) if decimal.abs() <= limit => Some(decimal),
        Some((Number::Either(thousands, _), None)) => Some(thousands),
        _ => {
            let what = format!("\"{text}\" is not a number");
            problems.push(row.problem(Code::NotANumber, field, id, what, UNKNOWN));
            None
        }
    }
}

/// A pole's row, id and coordinates.
pub(super) struct Located<'a> {
    pub row: Row<'a>,
    pub id: &'a str,
    pub at: (f64, f64),
}

/// The places of the poles, in their order; problems for those that cannot be.
pub(super) fn settle(poles: &[Located<'_>], problems: &mut Vec<Problem>) -> Vec<Option<Place>> {
    let around = box_around(poles);
    let mut places = Vec::with_capacity(poles.len());
    for pole in poles {
        let fault = fault_of(pole.at, around);
        if let Some((code, what)) = fault {
            let field = if pole.at.0.abs() <= 180.0 && pole.at.1.abs() > 90.0 {
                Field::Latitude
            } else {
                Field::Longitude
            };
            problems.push(pole.row.problem(code, field, pole.id, what, UNKNOWN));
            places.push(None);
        } else {
            places.push(Some(Place {
                longitude: pole.at.0,
                latitude: pole.at.1,
            }));
        }
    }
    note_crowds(poles, &places, problems);
    places
}

fn fault_of((longitude, latitude): (f64, f64), around: Option<Area>) -> Option<(Code, String)> {
    if longitude == 0.0 && latitude == 0.0 {
        return Some((Code::NullPlace, "0, 0 lies in the sea".to_owned()));
    }
    let what = format!("longitude {longitude}, latitude {latitude}");
    if longitude.abs() > 180.0 || latitude.abs() > 90.0 {
        return Some(
            if longitude.abs() > SURELY_PROJECTED || latitude.abs() > SURELY_PROJECTED {
                (Code::ProjectedPlace, format!("{what} are not degrees"))
            } else if longitude.abs() <= 90.0 && latitude.abs() <= 180.0 {
                (
                    Code::SwappedPlace,
                    format!("{what} are only on the earth when exchanged"),
                )
            } else {
                (Code::OutOfRange, format!("{what} are not on the earth"))
            },
        );
    }
    let area = around.filter(|area| !area.holds(longitude, latitude))?;
    if area.holds(latitude, longitude) {
        let what = format!("{what} are far from the other poles, but among them when exchanged");
        return Some((Code::SwappedPlace, what));
    }
    let flipped = [
        (-longitude, latitude),
        (longitude, -latitude),
        (-longitude, -latitude),
    ];
    flipped.iter().any(|(x, y)| area.holds(*x, *y)).then(|| {
        let what = format!("{what} are far from the other poles, but among them with another sign");
        (Code::WrongSign, what)
    })
}

/// A box of longitudes and latitudes.
#[derive(Debug, Clone, Copy)]
struct Area {
    west: f64,
    east: f64,
    south: f64,
    north: f64,
}

impl Area {
    fn holds(&self, longitude: f64, latitude: f64) -> bool {
        (self.west..=self.east).contains(&longitude)
            && (self.south..=self.north).contains(&latitude)
    }
}

/// The box in which most of the poles stand, with a wide margin.
fn box_around(poles: &[Located<'_>]) -> Option<Area> {
    let on_earth = || {
        poles
            .iter()
            .map(|pole| pole.at)
            .filter(|(x, y)| x.abs() <= 180.0 && y.abs() <= 90.0 && (*x, *y) != (0.0, 0.0))
    };
    let span = |mut values: Vec<f64>| {
        values.sort_by(f64::total_cmp);
        let low = crate::maths::quantile_of_sorted(&values, (1.0 - BOX_SHARE) / 2.0)?;
        let high = crate::maths::quantile_of_sorted(&values, f64::midpoint(1.0, BOX_SHARE))?;
        let margin = (high - low).max(BOX_MARGIN);
        Some((low - margin, high + margin))
    };
    let longitudes: Vec<f64> = on_earth().map(|at| at.0).collect();
    if longitudes.len() < FEWEST_FOR_A_BOX {
        return None;
    }
    let (west, east) = span(longitudes)?;
    let (south, north) = span(on_earth().map(|at| at.1).collect())?;
    Some(Area {
        west,
        east,
        south,
        north,
    })
}

/// One note for each point at which many poles stand, at the pole with the first id.
fn note_crowds(poles: &[Located<'_>], places: &[Option<Place>], problems: &mut Vec<Problem>) {
    let mut at_point: BTreeMap<(u64, u64), Vec<&Located<'_>>> = BTreeMap::new();
    for (pole, place) in poles.iter().zip(places) {
        if let Some(place) = place {
            let point = (place.longitude.to_bits(), place.latitude.to_bits());
            at_point.entry(point).or_default().push(pole);
        }
    }
    for mut crowd in at_point.into_values().filter(|crowd| crowd.len() >= MANY) {
        crowd.sort_by_key(|pole| pole.id);
        let first = crowd[0];
        let what = format!(
            "{} poles stand at {}, {}",
            crowd.len(),
            first.at.0,
            first.at.1
        );
        problems.push(first.row.problem(
            Code::SamePlace,
            Field::Longitude,
            first.id,
            what,
            "used as it is",
        ));
    }
}
