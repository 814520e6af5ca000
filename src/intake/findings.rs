//! What a visit found besides decay all round: local pockets at the groundline, and defects above it.

use super::cells::{Number, is_blank, read_number};
use super::sizes::{Bounds, DEPTH, DIAMETER, length_of};
use super::table::Row;
use crate::pole::{Defects, SeenPocket, SeenPockets, Vocabulary};
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

/// The pockets of a row that are at the groundline and fit into a pole of this diameter. Of each field one reading a
/// pocket: from several columns in their order, or parted in one cell (`100; 60`).
pub(super) fn read_pockets(
    row: Row<'_>,
    diameter: Option<Mm>,
    id: &str,
    problems: &mut Vec<Problem>,
) -> SeenPockets {
    const FIELDS: [Field; 4] = [
        Field::PocketWidth,
        Field::PocketDepth,
        Field::PocketSide,
        Field::PocketHeight,
    ];
    if !FIELDS.iter().any(|field| row.bound.has(*field)) {
        return SeenPockets::of_none();
    }
    let readings = FIELDS.map(|field| row.readings(field));
    let most = readings.iter().map(Vec::len).max().unwrap_or(0);
    let pockets = (0..most).filter_map(|place| {
        let [width, depth, side, height] = [0, 1, 2, 3].map(|field| {
            let text: Option<&str> = readings[field].get(place).copied();
            text.filter(|text| !is_blank(text))
        });
        let pocket = Written {
            row,
            id,
            width,
            depth,
            side,
            height,
        };
        pocket.read(diameter, problems)
    });
    let pockets: Vec<SeenPocket> = pockets.collect();
    if pockets.len() > SeenPockets::MOST {
        let what = format!("{} pockets at one groundline", pockets.len());
        let done = "the four widest count; the verdict tells of the others";
        problems.push(row.problem(Code::PocketMisfit, Field::PocketWidth, id, what, done));
    }
    SeenPockets::of(pockets)
}

/// One pocket as the row writes it.
struct Written<'a> {
    row: Row<'a>,
    id: &'a str,
    width: Option<&'a str>,
    depth: Option<&'a str>,
    side: Option<&'a str>,
    height: Option<&'a str>,
}

impl Written<'_> {
    /// The pocket, where it has a width and a depth that fit and is at the groundline.
    fn read(&self, diameter: Option<Mm>, problems: &mut Vec<Problem>) -> Option<SeenPocket> {
        let bounds = |most: f64, name| Bounds {
            range: 1.0..=most,
            code: Code::PocketMisfit,
            name,
        };
        let across = diameter.map_or(*DIAMETER.end(), |new| new.0.ceil());
        let half = diameter.map_or(*DEPTH.end(), |new| (new.0 / 2.0).ceil());
        let width = bounds(across, "width of a pocket in this pole");
        let depth = bounds(half, "depth of a pocket in this pole");
        let width = self.length(self.width, Field::PocketWidth, &width, problems);
        let depth = self.length(self.depth, Field::PocketDepth, &depth, problems);
        let (Some(width), Some(depth)) = (width, depth) else {
            // A length that does not fit was told where it was read.
            let lone = match (self.width, self.depth) {
                (Some(_), None) => Some((Field::PocketWidth, "a width without a depth")),
                (None, Some(_)) => Some((Field::PocketDepth, "a depth without a width")),
                _ => None,
            };
            if let Some((field, what)) = lone {
                self.tell(
                    Code::PocketMisfit,
                    field,
                    what.to_owned(),
                    UNKNOWN,
                    problems,
                );
            }
            return None;
        };
        let degrees = self.degrees(problems);
        let height = self.height(problems);
        if let Some(height) = height.filter(|height| height.abs() > REACH) {
            let what = format!("{height:.0} mm from the groundline");
            let done = "not on the groundline section";
            let code = Code::PocketElsewhere;
            self.tell(code, Field::PocketHeight, what, done, problems);
            return None;
        }
        Some(SeenPocket {
            width,
            depth,
            degrees,
            height: height.map(Mm),
        })
    }

    fn tell(
        &self,
        code: Code,
        field: Field,
        what: String,
        done: &str,
        problems: &mut Vec<Problem>,
    ) {
        problems.push(self.row.problem(code, field, self.id, what, done));
    }

    fn length(
        &self,
        text: Option<&str>,
        field: Field,
        bounds: &Bounds,
        problems: &mut Vec<Problem>,
    ) -> Option<Mm> {
        match length_of(self.row, field, text?, bounds) {
            Ok(length) => Some(length),
            Err((code, what)) => {
                self.tell(code, field, what, UNKNOWN, problems);
                None
            }
        }
    }

    /// Its side, degrees from north.
    fn degrees(&self, problems: &mut Vec<Problem>) -> Option<f64> {
        let text = self.side?;
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
            let code = Code::PocketMisfit;
            self.tell(code, Field::PocketSide, what, done, problems);
        }
        degrees
    }

    /// Height above the groundline, mm.
    fn height(&self, problems: &mut Vec<Problem>) -> Option<f64> {
        let text = self.height?;
        let units = &self.row.bound.source.units;
        let unit = units.get(&Field::PocketHeight).copied();
        if let Some((Number::One(value), written)) = read_number(text) {
            let unit = written.or(unit).unwrap_or(LengthUnit::Millimetre);
            return Some(unit.read(value).0);
        }
        let what = format!("\"{text}\" is not a number");
        let done = "taken as at the groundline";
        self.tell(Code::NotANumber, Field::PocketHeight, what, done, problems);
        None
    }
}

const UNKNOWN: &str = "taken as unknown";

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
