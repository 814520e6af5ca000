//! What a visit found besides decay all round: a local pocket at the groundline, and defects above it.

use super::cells::{Number, is_blank, read_number};
use super::sizes::{Bounds, DEPTH, DIAMETER, read_length};
use super::table::Row;
use crate::pole::{Defects, SeenPocket, Vocabulary};
use crate::problem::{Code, Problem};
use crate::programme::Programme;
use crate::programme::sources::Field;
use crate::units::{LengthUnit, Mm};

/// A pocket whose middle is further from the groundline than this is not on its section, mm (judgement: decay at the
/// groundline reaches about half a metre up and down).
const REACH: f64 = 500.0;

/// Points of the compass, degrees from north.
const POINTS: [(&str, f64); 8] = [
    ("n", 0.0),
    ("ne", 45.0),
    ("e", 90.0),
    ("se", 135.0),
    ("s", 180.0),
    ("sw", 225.0),
    ("w", 270.0),
    ("nw", 315.0),
];

/// The pocket of a row, where it is at the groundline and fits into a pole of this diameter.
pub(super) fn read_pocket(
    row: Row<'_>,
    diameter: Option<Mm>,
    id: &str,
    problems: &mut Vec<Problem>,
) -> Option<SeenPocket> {
    let bounds = |most: f64, name| Bounds {
        range: 1.0..=most,
        code: Code::PocketMisfit,
        name,
    };
    let across = diameter.map_or(*DIAMETER.end(), |new| new.0.ceil());
    let half = diameter.map_or(*DEPTH.end(), |new| (new.0 / 2.0).ceil());
    let width = bounds(across, "width of a pocket in this pole");
    let depth = bounds(half, "depth of a pocket in this pole");
    let width = read_length(row, Field::PocketWidth, &width, id, problems);
    let depth = read_length(row, Field::PocketDepth, &depth, id, problems);
    let given = |field| row.text(field).is_some();
    let (Some(width), Some(depth)) = (width, depth) else {
        // A length that does not fit was told where it was read.
        let lone = match (given(Field::PocketWidth), given(Field::PocketDepth)) {
            (true, false) => Some((Field::PocketWidth, "a width without a depth")),
            (false, true) => Some((Field::PocketDepth, "a depth without a width")),
            _ => None,
        };
        if let Some((field, what)) = lone {
            let done = "taken as unknown";
            problems.push(row.problem(Code::PocketMisfit, field, id, what.to_owned(), done));
        }
        return None;
    };
    let degrees = read_side(row, id, problems).unwrap_or(0.0);
    if let Some(height) = height(row, id, problems).filter(|height| height.abs() > REACH) {
        let what = format!("{height:.0} mm from the groundline");
        let done = "not on the groundline section";
        problems.push(row.problem(Code::PocketElsewhere, Field::PocketHeight, id, what, done));
        return None;
    }
    Some(SeenPocket {
        width,
        depth,
        degrees,
    })
}

fn read_side(row: Row<'_>, id: &str, problems: &mut Vec<Problem>) -> Option<f64> {
    let text = row.text(Field::PocketSide)?;
    let small = text.to_lowercase();
    let point = POINTS.iter().find(|(point, _)| *point == small);
    let degrees = point.map(|(_, degrees)| *degrees).or_else(|| {
        let (Number::One(value), None) = read_number(text)? else {
            return None;
        };
        (-360.0..=360.0).contains(&value).then_some(value)
    });
    if degrees.is_none() {
        let what = format!("\"{text}\" is no side");
        let done = "the side is taken as unknown";
        problems.push(row.problem(Code::PocketMisfit, Field::PocketSide, id, what, done));
    }
    degrees
}

/// Height above the groundline, mm.
fn height(row: Row<'_>, id: &str, problems: &mut Vec<Problem>) -> Option<f64> {
    let text = row.text(Field::PocketHeight)?;
    let unit = row.bound.source.units.get(&Field::PocketHeight).copied();
    if let Some((Number::One(value), written)) = read_number(text) {
        let unit = written.or(unit).unwrap_or(LengthUnit::Millimetre);
        return Some(unit.read(value).0);
    }
    let what = format!("\"{text}\" is not a number");
    let done = "taken as at the groundline";
    problems.push(row.problem(Code::NotANumber, Field::PocketHeight, id, what, done));
    None
}

/// The defects above the groundline; `None` where the cell says nothing.
pub(super) fn read_defects(
    row: Row<'_>,
    id: &str,
    programme: &Programme,
    problems: &mut Vec<Problem>,
) -> Option<Defects> {
    let text = row.filled(Field::AboveGroundDefect)?;
    if is_blank(text) {
        return None;
    }
    let codes = &row.bound.source.codes.above_ground_defect;
    let mut found = Defects::default();
    let (mut unknown, mut without_rule) = (Vec::new(), Vec::new());
    let parts = text.split([';', '/', '|', ',', '+']).map(str::trim);
    for part in parts.filter(|part| !part.is_empty()) {
        let small = part.to_lowercase();
        let word = || Vocabulary::from_word(&small.replace([' ', '-'], "_"));
        if let Some(defect) = codes.get(&small).copied().or_else(word) {
            found = found.with(defect);
            if programme.above_ground_rule(defect).is_none() {
                without_rule.push(part);
            }
        } else if !["none", "no", "ok"].contains(&small.as_str()) {
            unknown.push(part);
        }
    }
    let mut tell = |code, parts: &[&str], what: &str, done: &str| {
        if !parts.is_empty() {
            let what = format!("{}: {what}", parts.join(", "));
            problems.push(row.problem(code, Field::AboveGroundDefect, id, what, done));
        }
    };
    let done = "taken as unknown: it acts not at all";
    tell(Code::UnknownDefect, &unknown, "no word of ours", done);
    let done = "recorded; it changes no date";
    tell(
        Code::DefectWithoutRule,
        &without_rule,
        "no [[above_ground]] covers it",
        done,
    );
    // What nobody explained does not say that there is nothing else.
    (unknown.is_empty() || found != Defects::default()).then_some(found)
}
