//! Where poles stand: coordinates held to the earth and to each other. Nothing is moved; what cannot be is unknown.

use super::cells::{Number, read_number};
use super::identity::plain_id;
use super::lines::far_from_their_lines;
use super::projected::{note_strays, undeclared};
use super::table::Row;
use crate::parallel::sort_by;
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

/// The coordinates of a row, and the fields that hold them.
#[derive(Debug, Clone, Copy)]
pub(super) struct Read {
    /// Longitude and latitude, or what stands in their place.
    pub at: (f64, f64),
    fields: (Field, Field),
}

/// The two coordinates of a row, if both are numbers; problems otherwise. Where the file declares a projection they have
/// become degrees.
pub(super) fn read_coordinates(
    row: Row<'_>,
    id: &str,
    problems: &mut Vec<Problem>,
) -> Option<Read> {
    let given = |fields: (Field, Field)| (row.text(fields.0), row.text(fields.1));
    let degrees = (Field::Longitude, Field::Latitude);
    let fields = if given(degrees) == (None, None) {
        (Field::X, Field::Y)
    } else {
        degrees
    };
    if let half @ ((Some(_), None) | (None, Some(_))) = given(fields) {
        let field = if half.0.is_some() { fields.0 } else { fields.1 };
        let what = "the other coordinate is missing".to_owned();
        problems.push(row.problem(Code::HalfPlace, field, id, what, UNKNOWN));
        return None;
    }
    let projection = row.bound.projection.as_ref();
    // In metres or feet a comma parts thousands; degrees never reach them.
    let limits = projection.map_or((180.0, 90.0), |_| (0.0, 0.0));
    let x = coordinate(row, fields.0, limits.0, id, problems);
    let y = coordinate(row, fields.1, limits.1, id, problems);
    let at = x.zip(y)?;
    let Some(projection) = projection.filter(|_| at != (0.0, 0.0)) else {
        return Some(Read { at, fields });
    };
    let Some(place) = projection.place(at.0, at.1) else {
        let code = row.bound.source.epsg.unwrap_or_default();
        let what = format!("{}, {} is no point of EPSG {code}", at.0, at.1);
        problems.push(row.problem(Code::OffTheProjection, fields.0, id, what, UNKNOWN));
        return None;
    };
    Some(Read {
        at: (place.longitude, place.latitude),
        fields,
    })
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
    pub read: Read,
}

impl Located<'_> {
    /// The fields that hold its coordinates.
    pub(super) const fn fields(&self) -> (Field, Field) {
        self.read.fields
    }
}

/// The places of the poles, in their order; problems for those that cannot be.
pub(super) fn settle(poles: &[Located<'_>], problems: &mut Vec<Problem>) -> Vec<Option<Place>> {
    let around = box_around(poles);
    let mut places = Vec::with_capacity(poles.len());
    let mut projected: BTreeMap<u16, Vec<&Located<'_>>> = BTreeMap::new();
    for pole in poles {
        let at = pole.read.at;
        let fault = fault_of(at, around);
        if let Some((code, what)) = fault {
            let field = if at.0.abs() <= 180.0 && at.1.abs() > 90.0 {
                pole.read.fields.1
            } else {
                pole.read.fields.0
            };
            if code == Code::ProjectedPlace {
                let file = pole.row.source().file;
                projected.entry(file).or_default().push(pole);
            }
            problems.push(pole.row.problem(code, field, pole.id, what, UNKNOWN));
            places.push(None);
        } else {
            places.push(Some(Place {
                longitude: at.0,
                latitude: at.1,
            }));
        }
    }
    for poles in projected.values() {
        problems.push(undeclared(poles, &places));
    }
    note_strays(poles, &places, problems);
    far_from_their_lines(poles, &mut places, problems);
    note_crowds(poles, &places, problems);
    places
}

fn fault_of((longitude, latitude): (f64, f64), around: Option<Area>) -> Option<(Code, String)> {
    if longitude == 0.0 && latitude == 0.0 {
        return Some((Code::NullPlace, "0, 0 lies in the sea".to_owned()));
    }
    let what = || format!("longitude {longitude}, latitude {latitude}");
    if longitude.abs() > 180.0 || latitude.abs() > 90.0 {
        return Some(
            if longitude.abs() > SURELY_PROJECTED || latitude.abs() > SURELY_PROJECTED {
                (
                    Code::ProjectedPlace,
                    format!("{longitude}, {latitude} are no degrees"),
                )
            } else if longitude.abs() <= 90.0 && latitude.abs() <= 180.0 {
                (
                    Code::SwappedPlace,
                    format!("{} are only on the earth when exchanged", what()),
                )
            } else {
                (Code::OutOfRange, format!("{} are not on the earth", what()))
            },
        );
    }
    let area = around.filter(|area| !area.holds(longitude, latitude))?;
    if area.holds(latitude, longitude) {
        let what = format!(
            "{} are far from the other poles, but among them when exchanged",
            what()
        );
        return Some((Code::SwappedPlace, what));
    }
    let flipped = [
        (-longitude, latitude),
        (longitude, -latitude),
        (-longitude, -latitude),
    ];
    flipped.iter().any(|(x, y)| area.holds(*x, *y)).then(|| {
        let what = format!(
            "{} are far from the other poles, but among them with another sign",
            what()
        );
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
            .map(|pole| pole.read.at)
            .filter(|(x, y)| x.abs() <= 180.0 && y.abs() <= 90.0 && (*x, *y) != (0.0, 0.0))
    };
    let span = |mut values: Vec<f64>| {
        sort_by(&mut values, f64::total_cmp);
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

/// Two poles at one point that also have the same line, size, kind and year are probably one pole under two ids.
fn note_twins(pair: &[&Located<'_>], problems: &mut Vec<Problem>) {
    let facts =
        |pole: &Located<'_>| TELLING.map(|field| pole.row.text(field).map(str::to_lowercase));
    let [first, second] = pair else { return };
    let said = facts(first);
    let known = said.iter().flatten().count();
    let alike_by_name = plain_id(first.id) == plain_id(second.id);
    if alike_by_name || (known >= ENOUGH_FACTS && said == facts(second)) {
        let what = format!(
            "{} and {} stand at one point{}",
            first.id,
            second.id,
            if alike_by_name {
                " and differ only in how the id is written"
            } else {
                " and are alike in line, size, kind and year"
            }
        );
        let done = "both are kept";
        problems.push(
            second
                .row
                .problem(Code::PossibleTwin, Field::Id, second.id, what, done),
        );
    }
}

/// Facts by which one pole is told from another ...
const TELLING: [Field; 6] = [
    Field::Line,
    Field::Length,
    Field::Class,
    Field::Species,
    Field::Preservative,
    Field::SetDate,
];
/// ... and how many of them must be there before being alike says anything.
const ENOUGH_FACTS: usize = 3;

/// One note for each point at which many poles stand, at the pole with the first id; and one for two that look like one.
fn note_crowds(poles: &[Located<'_>], places: &[Option<Place>], problems: &mut Vec<Problem>) {
    let known = (0_u32..).zip(places).filter_map(|(number, place)| {
        let Place {
            longitude,
            latitude,
        } = (*place)?;
        Some(((longitude.to_bits(), latitude.to_bits()), number))
    });
    let mut at_point: Vec<((u64, u64), u32)> = known.collect();
    sort_by(&mut at_point, Ord::cmp);
    let crowds = at_point.chunk_by(|one, other| one.0 == other.0);
    for crowd in crowds.filter(|crowd| crowd.len() > 1) {
        let crowd = crowd.iter().map(|(_, number)| &poles[*number as usize]);
        let mut crowd: Vec<&Located<'_>> = crowd.collect();
        crowd.sort_by_key(|pole| pole.id);
        if crowd.len() < MANY {
            note_twins(&crowd, problems);
            continue;
        }
        let first = crowd[0];
        let what = format!(
            "{} poles stand at {}, {}",
            crowd.len(),
            first.read.at.0,
            first.read.at.1
        );
        problems.push(first.row.problem(
            Code::SamePlace,
            first.read.fields.0,
            first.id,
            what,
            "used as it is",
        ));
    }
}
