//! What one row says of a pole's size: length, class, top diameter and species, from columns of their own and from a
//! compound size, held to each other.
//!
//! A class of the American tables is taken for one only where the list leaves no doubt: lengths in feet, or metric
//! lengths that are those of the tables.

use super::cells::read_number;
use super::classes::{ClassText, Compound, read_class, read_size, speaks_of_treatment};
use super::sizes::{Bounds, DIAMETER, POLE_LENGTH, read_length};
use super::table::Row;
use crate::pole::{PoleClass, Species};
use crate::problem::{Code, Problem};
use crate::programme::sources::Field;
use crate::units::{LengthUnit, Mm};
use crate::wood::sizes::{CLASS_LENGTHS_FT, LENGTH_STEP_FT};

/// A metric length is one of the tables when it is this near to a step of five feet: lists round 12.192 m to 12.2 or 12.
/// Metric lists of other classes have 12 or 13.5 m, 1.6 % off.
const METRIC_STEP: f64 = 0.01;

/// A height in feet is off the steps when it is further from one than this, ft: lists round to tenths.
const FEET_STEP: f64 = 0.25;

/// Two values of one length or diameter agree within this share.
const AGREE: f64 = 0.01;

/// What the row says of the size.
#[derive(Debug, Clone, Default)]
pub(super) struct SizeFacts {
    pub length: Option<Mm>,
    /// Name of the class, as it stands in outputs.
    pub class: Option<String>,
    pub size_class: Option<PoleClass>,
    pub top_diameter: Option<Mm>,
    pub species: Option<Species>,
    /// Whether the compound size has words that name no species.
    pub odd_words: bool,
}

/// Reads the size; `species` is that of its own column.
pub(super) fn read_size_facts(
    row: Row<'_>,
    id: &str,
    species: Option<Species>,
    problems: &mut Vec<Problem>,
) -> SizeFacts {
    let length_bounds = Bounds {
        range: POLE_LENGTH,
        code: Code::PoleLength,
        name: "length of a pole",
    };
    let top_bounds = Bounds {
        range: *DIAMETER.start() / 2.0..=*DIAMETER.end(),
        code: Code::GroundlineSize,
        name: "top diameter of a pole",
    };
    let compound = compound(row, id, &length_bounds, problems);
    let mut settle = Settle { row, id, problems };
    let own_length = read_length(row, Field::Length, &length_bounds, id, settle.problems);
    let length = settle.lengths(Field::Length, own_length, compound.length);
    let own_top = read_length(row, Field::TopDiameter, &top_bounds, id, settle.problems);
    let top_diameter = settle.lengths(Field::TopDiameter, own_top, compound.top_diameter);
    let metric = if compound.length.is_some() {
        compound.metric
    } else {
        is_metric(row)
    };
    let (class, size_class) = settle.class(compound.class, metric);
    let size_class = size_class.filter(|_| settle.of_the_tables(length, metric));
    let class = size_class.map_or(class, |known| Some(known.word().to_owned()));
    SizeFacts {
        length,
        class,
        size_class,
        top_diameter,
        species: settle.same(Field::Species, species, compound.species),
        odd_words: compound.odd_words,
    }
}

/// Whether the row's lengths are metric: by the unit written behind them, else by the file's.
fn is_metric(row: Row<'_>) -> bool {
    let written = row
        .text(Field::Length)
        .and_then(|text| read_number(text)?.1);
    let of_file = row.bound.source.units.get(&Field::Length).copied();
    let unit = written.or(of_file).or(Field::Length.info().unit);
    !matches!(unit, Some(LengthUnit::Foot | LengthUnit::Inch))
}

/// The compound size, or a problem.
fn compound(row: Row<'_>, id: &str, bounds: &Bounds, problems: &mut Vec<Problem>) -> Compound {
    let Some(text) = row.text(Field::Size) else {
        return Compound::default();
    };
    let source = &row.bound.source;
    let unit = source.units.get(&Field::Size).copied();
    let unit = unit.or(Field::Size.info().unit).unwrap_or(LengthUnit::Foot);
    let found = read_size(text, unit, &source.codes.species);
    let fits = |size: &Compound| {
        size.length
            .is_none_or(|length| bounds.range.contains(&length.0))
    };
    found.filter(fits).unwrap_or_else(|| {
        let what = format!("\"{text}\" is no length with a class or a top diameter");
        problems.push(row.problem(Code::NotASize, Field::Size, id, what, "taken as unknown"));
        Compound::default()
    })
}

/// A row whose columns are held to each other.
struct Settle<'a, 'p> {
    row: Row<'a>,
    id: &'a str,
    problems: &'p mut Vec<Problem>,
}

impl Settle<'_, '_> {
    fn note(&mut self, code: Code, field: Field, what: String, done: &str) {
        self.problems
            .push(self.row.problem(code, field, self.id, what, done));
    }

    fn disagree(&mut self, field: Field) {
        let what = format!(
            "{} says {}, the size \"{}\"",
            field.info().name,
            self.row.raw(field).trim(),
            self.row.raw(Field::Size).trim()
        );
        self.note(Code::SizeColumnsDisagree, field, what, "taken as unknown");
    }

    /// The value of either column; nothing where they differ.
    fn same<T: PartialEq>(&mut self, field: Field, own: Option<T>, other: Option<T>) -> Option<T> {
        match (own, other) {
            (Some(own), Some(other)) if own != other => {
                self.disagree(field);
                None
            }
            (own, other) => own.or(other),
        }
    }

    fn lengths(&mut self, field: Field, own: Option<Mm>, other: Option<Mm>) -> Option<Mm> {
        match (own, other) {
            (Some(a), Some(b)) if (a.0 - b.0).abs() > AGREE * a.0.max(b.0) => {
                self.disagree(field);
                None
            }
            (own, other) => own.or(other),
        }
    }

    /// The class as it is called, and which of the tables it may be.
    fn class(
        &mut self,
        compound: Option<PoleClass>,
        metric: bool,
    ) -> (Option<String>, Option<PoleClass>) {
        let row = self.row;
        let text = row.text(Field::Class);
        let (field, own) = match text.map(|text| (text, read_class(text))) {
            Some((text, ClassText::Other)) => return (Some(text.to_owned()), None),
            Some((text, ClassText::NoSuch)) => {
                let what = format!("\"{text}\" is no class");
                self.note(Code::NotAClass, Field::Class, what, "taken as unknown");
                return (None, None);
            }
            Some((_, ClassText::Known(own))) => (Field::Class, Some(own)),
            None => (Field::Size, None),
        };
        let Some(class) = self.same(Field::Class, own, compound) else {
            return (None, None);
        };
        let treatment = class.is_h()
            && (speaks_of_treatment(row.raw(field))
                || speaks_of_treatment(row.bound.column(field)));
        if class.is_h() && (metric || treatment) {
            let what = format!(
                "{} is a size class or a hazard class of treatment: {}",
                class.word(),
                if treatment {
                    "it stands beside a word of treatment"
                } else {
                    "the lengths of the list are metric"
                }
            );
            self.note(Code::AmbiguousClass, field, what, "taken as unknown");
            return (None, None);
        }
        let name = text.map_or_else(|| class.word().to_owned(), str::to_owned);
        (Some(name), Some(class))
    }

    /// Whether a class beside this length is one of the tables.
    fn of_the_tables(&mut self, length: Option<Mm>, metric: bool) -> bool {
        let feet = length.map(|length| LengthUnit::Foot.write(length));
        let off = |feet: f64| (feet - (feet / LENGTH_STEP_FT).round() * LENGTH_STEP_FT).abs();
        match feet {
            Some(feet) if metric => off(feet) <= METRIC_STEP * feet,
            Some(feet) => {
                let [shortest, longest] = CLASS_LENGTHS_FT;
                if off(feet) > FEET_STEP && (shortest..=longest).contains(&feet) {
                    let what = format!(
                        "{} ft is no step of five feet",
                        (feet * 100.0).round() / 100.0
                    );
                    let field = if self.row.text(Field::Length).is_some() {
                        Field::Length
                    } else {
                        Field::Size
                    };
                    self.note(Code::OffTheSteps, field, what, "kept as it is");
                }
                true
            }
            None => !metric,
        }
    }
}
