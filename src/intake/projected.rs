//! Coordinates of map projections, file by file: which code could be meant where none is declared, and whether the one
//! that is declared is used where it puts the poles.
//!
//! Both are plausibility checks: they name codes and places, and move nothing. What projections are is
//! [`projection`](crate::projection)'s business.

use super::places::Located;
use crate::pole::Place;
use crate::problem::{Code, Problem};
use crate::projection::{candidate, candidates_near};
use std::collections::BTreeMap;

/// A projection is likely when it puts a file's poles within this many metres of the list's others (judgement: a network
/// is a county, not a country).
const AMONG_THE_OTHERS: f64 = 100_000.0;
/// So many likely projections are named.
const CANDIDATES_SHOWN: usize = 8;
const WEB_MERCATOR: u32 = 3857;
/// Eastings and northings in metres that zones of the Universal Transverse Mercator projection have.
const UTM_EASTINGS: std::ops::RangeInclusive<f64> = 100_000.0..=900_000.0;
const UTM_NORTHINGS: std::ops::RangeInclusive<f64> = 0.0..=10_000_000.0;

/// One problem for a file whose coordinates are no degrees: which projections could be meant.
pub(super) fn undeclared(poles: &[&Located<'_>], places: &[Option<Place>]) -> Problem {
    let middle = |values: Vec<f64>| {
        let mut values = values;
        values.sort_by(f64::total_cmp);
        crate::maths::quantile_of_sorted(&values, 0.5)
    };
    let x = middle(poles.iter().map(|pole| pole.read.at.0).collect()).unwrap_or_default();
    let y = middle(poles.iter().map(|pole| pole.read.at.1).collect()).unwrap_or_default();
    let known: Vec<Place> = places.iter().flatten().copied().collect();
    let near = middle(known.iter().map(|place| place.longitude).collect())
        .zip(middle(known.iter().map(|place| place.latitude).collect()))
        .map(|(longitude, latitude)| Place {
            longitude,
            latitude,
        });
    let found = near.map_or_else(Vec::new, |near| {
        candidates_near(x, y, near, AMONG_THE_OTHERS)
    });
    let advice = if found.is_empty() {
        without_neighbours(x, y)
    } else {
        let codes: Vec<String> = found
            .iter()
            .take(CANDIDATES_SHOWN)
            .map(|found| found.code.to_string())
            .collect();
        format!(
            "they lie near the list's other poles as EPSG {}",
            codes.join(", ")
        )
    };
    let first = poles[0];
    let count = super::counted(poles.len(), "row");
    let what = format!("{count} with coordinates that are no degrees, and no epsg: {advice}");
    let mut problem = first.row.problem(
        Code::UndeclaredProjection,
        first.fields().0,
        "",
        what,
        "the places are taken as unknown",
    );
    problem.pole = None;
    problem
}

/// What can be said of a projection when nothing else in the list has a place.
fn without_neighbours(x: f64, y: f64) -> String {
    let mut could_be = Vec::new();
    if let Some(found) = candidate(WEB_MERCATOR, x, y) {
        could_be.push(format!(
            "as EPSG {WEB_MERCATOR} (Web Mercator) the middle one lies at longitude {:.4}, latitude {:.4}",
            found.place.longitude, found.place.latitude
        ));
    }
    if UTM_EASTINGS.contains(&x) && UTM_NORTHINGS.contains(&y) {
        could_be.push(
            "UTM in metres is EPSG 32600 + zone in the north, 32700 + zone in the south (NAD83: 26900 + zone)"
                .to_owned(),
        );
    }
    could_be.push(
        "state planes and national grids, in metres or feet, have codes of their own".to_owned(),
    );
    could_be.join("; ")
}

/// One problem for each file whose declared projection is not used where it puts the poles.
pub(super) fn note_strays(
    poles: &[Located<'_>],
    places: &[Option<Place>],
    problems: &mut Vec<Problem>,
) {
    let mut declared: BTreeMap<u16, Vec<(&Located<'_>, Place)>> = BTreeMap::new();
    for (pole, place) in poles.iter().zip(places) {
        let known = place.filter(|_| pole.row.bound.projection.is_some());
        if let Some(place) = known {
            let file = pole.row.source().file;
            declared.entry(file).or_default().push((pole, place));
        }
    }
    for poles in declared.values() {
        problems.extend(stray(poles));
    }
}

/// The problem of one file, told of the first of its rows that lies outside.
fn stray(poles: &[(&Located<'_>, Place)]) -> Option<Problem> {
    let bound = poles.first()?.0.row.bound;
    let projection = bound.projection.as_ref()?;
    let outside: Vec<&(&Located<'_>, Place)> = poles
        .iter()
        .filter(|(_, place)| projection.strays(*place).is_some())
        .collect();
    let (first, place) = outside.iter().min_by_key(|(pole, _)| pole.row.source())?;
    let what = format!(
        "{} of {} lie where EPSG {} is not meant to be used: {} lies at longitude {:.4}, latitude {:.4}, and the code {}",
        outside.len(),
        super::counted(poles.len(), "row"),
        bound.source.epsg.unwrap_or_default(),
        first.id,
        place.longitude,
        place.latitude,
        projection.strays(*place)?
    );
    let field = first.fields().0;
    let code = Code::OutsideItsProjection;
    let mut problem = first.row.problem(code, field, "", what, "used as they are");
    problem.pole = None;
    Some(problem)
}
