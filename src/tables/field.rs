//! `field/PACKAGE.csv`: one sheet a package of the first plan year, which comes back from the field as inspections.
//!
//! The columns to fill have the names of the fields that `[[inspections]]` reads, so that a filled sheet is read without
//! any mapping; a row without a day and a verdict was not visited and is set aside with a note.

use super::{Column, ColumnInfo, Holds, Sheet, Value, column, length_unit, measured};
use crate::pole::{Inspection, Pole, Vocabulary};
use crate::schedule::Package;
use crate::units::LengthUnit;
use crate::words::quantities::length;
use crate::words::{Case, caution_of, look_for};

/// One pole of a package, in the order in which it is reached.
pub struct Stop<'a> {
    case: Case<'a>,
    number: usize,
    package: &'a Package,
    unit: LengthUnit,
}

impl Stop<'_> {
    fn facts(&self) -> &Pole {
        self.case.facts()
    }

    fn last(&self, value: impl Fn(&Inspection) -> Value) -> Value {
        self.case.last().map_or(Value::Empty, value)
    }
}

/// The sheet of one package.
pub fn field<'a>(fleet: Case<'a>, package: &'a Package) -> Sheet<'a> {
    let unit = length_unit(&fleet.programme.sources);
    Sheet::new("field", columns(unit), package.poles.len(), move |row| {
        Stop {
            case: Case {
                pole: package.poles[row],
                ..fleet
            },
            number: row + 1,
            package,
            unit,
        }
    })
}

/// The columns of every such sheet.
pub fn described(fleet: Case<'_>) -> Vec<ColumnInfo> {
    columns(length_unit(&fleet.programme.sources))
        .into_iter()
        .map(|column| column.info)
        .collect()
}

/// What the crew fills, in the order of the sheet: fields of inspections.
pub fn form() -> Vec<ColumnInfo> {
    to_fill().into_iter().map(|column| column.info).collect()
}

/// The file's name below `field/`: the package's number, and as much of its name as every file system takes.
pub fn file_name(number: usize, package: &Package) -> String {
    format!("{}.csv", stem(number, package))
}

/// The name of the same sheet for paper.
pub fn page_name(number: usize, package: &Package) -> String {
    format!("{}.html", stem(number, package))
}

fn stem(number: usize, package: &Package) -> String {
    let plain = |letter: char| {
        if letter.is_ascii_alphanumeric() {
            letter
        } else {
            '-'
        }
    };
    let name: String = package.name.chars().map(plain).take(LONGEST_NAME).collect();
    let parts: Vec<&str> = name.split('-').filter(|part| !part.is_empty()).collect();
    format!("{number:04}-{}", parts.join("-"))
}

/// Letters of a package's name in a file's name.
const LONGEST_NAME: usize = 60;

fn columns<'a>(unit: LengthUnit) -> Vec<Column<Stop<'a>>> {
    let mut columns = pole(unit);
    columns.extend(to_fill());
    columns.extend(end());
    columns
}

fn pole<'a>(unit: LengthUnit) -> Vec<Column<Stop<'a>>> {
    vec![
        column(
            "stop",
            Holds::Whole,
            "place in the order of the way",
            |stop| Value::whole(stop.number),
        ),
        column("id", Holds::Text, "the pole's id", |stop| {
            Value::text(stop.case.id())
        }),
        column("line", Holds::Text, "line", |stop| {
            Value::maybe_text(stop.case.inventory.line_of(stop.case.pole))
        }),
        measured(unit.word(), "length", Holds::Number, "length", |stop| {
            stop.facts()
                .length
                .map_or(Value::Empty, |mm| Value::number(length(mm, stop.unit)))
        }),
        column("class", Holds::Text, "class", |stop| {
            Value::maybe_text(
                stop.facts()
                    .class
                    .map(|class| stop.case.inventory.names.get(class)),
            )
        }),
        column("species", Holds::Text, "species group", |stop| {
            Value::maybe_text(stop.facts().species.map(Vocabulary::word))
        }),
        column("preservative", Holds::Text, "preservative", |stop| {
            Value::maybe_text(stop.facts().preservative.map(Vocabulary::word))
        }),
        column(
            "install_year",
            Holds::Whole,
            "year in which it was set",
            |stop| {
                stop.facts()
                    .installed
                    .map_or(Value::Empty, |day| Value::whole(day.year()))
            },
        ),
        column(
            "last_date",
            Holds::Day,
            "day of the last inspection",
            |stop| stop.last(|last| Value::Day(last.date)),
        ),
        column("last_method", Holds::Text, "its method", |stop| {
            stop.last(|last| Value::text(last.method.word()))
        }),
        column("last_verdict", Holds::Text, "its verdict", |stop| {
            stop.last(|last| Value::text(last.verdict.word()))
        }),
        column("look_for", Holds::Text, "what to look for", |stop| {
            Value::text(look_for(&stop.case))
        }),
    ]
}

/// What the crew fills: the names are those of the fields of inspections.
fn to_fill<'a>() -> Vec<Column<Stop<'a>>> {
    let mut columns = outcome();
    columns.extend(pockets_and_defects());
    columns.extend(treatment());
    columns
}

/// The day, the verdict and the readings all round.
fn outcome<'a>() -> Vec<Column<Stop<'a>>> {
    let empty = |_: &Stop<'_>| Value::Empty;
    vec![
        column(
            "date",
            Holds::Day,
            "TO FILL: day of the inspection, 2026-05-31",
            empty,
        ),
        column(
            "method",
            Holds::Text,
            "method that is planned; TO CHANGE where another was used",
            |stop| Value::text(stop.package.method.word()),
        ),
        column(
            "verdict",
            Holds::Text,
            "TO FILL: sound, decay_serviceable, reject_reinforceable, reject_replace, danger or not_inspected",
            empty,
        ),
        column(
            "decay_mode",
            Holds::Text,
            "TO FILL where decay was found: external, internal or both",
            empty,
        ),
        measured(
            "mm",
            "sound_shell",
            Holds::Number,
            "TO FILL: sound wood around a hollow; several readings parted by ; (other units behind the number: 3.5 in)",
            empty,
        ),
        measured(
            "mm",
            "outside_decay_depth",
            Holds::Number,
            "TO FILL: depth of decay from the outside, all round",
            empty,
        ),
        measured(
            "mm",
            "remaining_circumference",
            Holds::Number,
            "TO FILL: circumference of what is left at the groundline",
            empty,
        ),
        measured(
            "mm",
            "original_circumference",
            Holds::Number,
            "TO FILL: circumference where the wood is sound",
            empty,
        ),
    ]
}

/// Pockets at the groundline, and defects above it.
fn pockets_and_defects<'a>() -> Vec<Column<Stop<'a>>> {
    let empty = |_: &Stop<'_>| Value::Empty;
    vec![
        measured(
            "mm",
            "pocket_width",
            Holds::Number,
            "TO FILL: width of a pocket of decay at the surface; several pockets parted by ;",
            empty,
        ),
        measured(
            "mm",
            "pocket_depth",
            Holds::Number,
            "TO FILL: its depth; several in the same order",
            empty,
        ),
        column(
            "pocket_side",
            Holds::Text,
            "TO FILL: its side, N, NE, E and so on; several in the same order",
            empty,
        ),
        measured(
            "mm",
            "pocket_height",
            Holds::Number,
            "TO FILL: height of its middle above the groundline, negative below; several in the same order",
            empty,
        ),
        column(
            "above_ground_defect",
            Holds::Text,
            "TO FILL: top, split, woodpecker, insect, fire, impact, lean, several parted by ;, or none",
            empty,
        ),
    ]
}

/// What was done at the visit, by whom, and anything else.
fn treatment<'a>() -> Vec<Column<Stop<'a>>> {
    let empty = |_: &Stop<'_>| Value::Empty;
    vec![
        column(
            "treated",
            Holds::Text,
            "TO FILL: yes where a remedial treatment was given",
            empty,
        ),
        column(
            "agent",
            Holds::Text,
            "TO FILL with the treatment: metam_sodium, mitc, dazomet, chloropicrin, boron_rod, fluoride_rod, paste or bandage",
            empty,
        ),
        column(
            "agent_place",
            Holds::Text,
            "TO FILL where the agent was not put where it usually goes: groundline_external or internal",
            empty,
        ),
        column(
            "contractor",
            Holds::Text,
            "TO FILL: contractor or crew",
            empty,
        ),
        column(
            "remarks",
            Holds::Text,
            "TO FILL: anything else, first of all why it was not inspected",
            empty,
        ),
    ]
}

fn end<'a>() -> Vec<Column<Stop<'a>>> {
    vec![
        column(
            "caution",
            Holds::Text,
            "what to beware of; never empty",
            |stop| Value::text(caution_of(&stop.case)),
        ),
        measured("degrees", "longitude", Holds::Number, "WGS 84", |stop| {
            stop.facts()
                .place
                .map_or(Value::Empty, |place| Value::number(place.longitude))
        }),
        measured("degrees", "latitude", Holds::Number, "WGS 84", |stop| {
            stop.facts()
                .place
                .map_or(Value::Empty, |place| Value::number(place.latitude))
        }),
    ]
}

#[cfg(test)]
mod tests {
    use super::{field, file_name, page_name, to_fill};
    use crate::pole::{Agent, AgentPlace, Defect, SeenMode, Verdict, Vocabulary};
    use crate::programme::sources::Field;
    use crate::tables::tests::{assert_typed, cell};
    use crate::words::sample;

    #[test]
    fn what_the_crew_fills_is_what_inspections_read() {
        for column in to_fill() {
            let field = Field::from_name(column.info.name).map(Field::info);
            assert!(
                field.is_some_and(|info| info.of_inspections),
                "{}",
                column.info.name
            );
        }
    }

    #[test]
    fn the_words_that_the_crew_is_offered_are_those_that_are_read() {
        let all = [
            ("verdict", words::<Verdict>()),
            ("decay_mode", words::<SeenMode>()),
            ("above_ground_defect", words::<Defect>()),
            ("agent", words::<Agent>()),
            ("agent_place", words::<AgentPlace>()),
        ];
        for (name, words) in all {
            let column = to_fill()
                .into_iter()
                .find(|column| column.info.name == name);
            let meaning = column.map_or("", |column| column.info.meaning);
            for word in words {
                assert!(meaning.contains(word), "{name}: {word}");
            }
        }
    }

    fn words<V: Vocabulary>() -> Vec<&'static str> {
        V::WORDS.iter().map(|(_, word, _)| *word).collect()
    }

    #[test]
    fn every_stop_has_its_pole_and_its_caution() {
        let sample = sample::fleet();
        let fleet = sample.case(crate::pole::PoleIndex(0));
        let package = &sample.plan.schedule.packages[0];
        let sheet = field(fleet, package);
        assert_typed(&sheet);
        for (row, pole) in package.poles.iter().enumerate() {
            assert_eq!(cell(&sheet, row, "id"), sample.inventory.id(*pole));
            assert!(cell(&sheet, row, "caution").contains("never clears a pole"));
        }
    }

    #[test]
    fn a_file_name_suits_every_file_system() {
        let sample = sample::fleet();
        let mut package = sample.plan.schedule.packages[0].clone();
        package.name = "Höhe/../ \"Q\" : 1, 2026".to_owned();
        assert_eq!(file_name(7, &package), "0007-H-he-Q-1-2026.csv");
        assert_eq!(page_name(7, &package), "0007-H-he-Q-1-2026.html");
    }
}
