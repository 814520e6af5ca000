//! Owners' codes to our words: what the programme maps, what is already a word of ours, and what nobody explained.

use super::cells::{in_small_letters, is_blank};
use super::table::Row;
use crate::pole::{Material, Vocabulary};
use crate::problem::{Cell, Code, Problem, Source};
use crate::programme::sources::Field;
use std::collections::BTreeMap;

/// What a cell of codes says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Coded<V> {
    /// A word of ours.
    Known(V),
    /// Nothing.
    Blank,
    /// A code that the programme does not explain.
    Unmapped,
}

impl<V> Coded<V> {
    pub(super) fn known(self) -> Option<V> {
        match self {
            Self::Known(value) => Some(value),
            Self::Blank | Self::Unmapped => None,
        }
    }
}

/// What the cell of `field` says, by the programme's codes (in small letters) and our own words.
pub(super) fn read_code<V: Vocabulary>(
    row: Row<'_>,
    field: Field,
    codes: &BTreeMap<String, V>,
) -> Coded<V> {
    let Some(text) = row.filled(field) else {
        return Coded::Blank;
    };
    let known = in_small_letters(text, |small| {
        let ours = || {
            if small.contains([' ', '-']) {
                V::from_word(&small.replace([' ', '-'], "_"))
            } else {
                V::from_word(small)
            }
        };
        codes.get(small).copied().or_else(ours)
    });
    match known {
        Some(value) => Coded::Known(value),
        None if is_blank(text) => Coded::Blank,
        None => Coded::Unmapped,
    }
}

/// Materials in plain English, which need no mapping.
pub(super) fn read_material(row: Row<'_>) -> Coded<Material> {
    match read_code(row, Field::Material, &row.bound.source.codes.material) {
        Coded::Unmapped => {
            let text = row.raw(Field::Material).to_lowercase();
            let words: Vec<&str> = text.split(|c: char| !c.is_alphanumeric()).collect();
            let wooden = words.iter().any(|word| WOODEN.contains(word));
            // "Cast iron" is iron; a wooden pole with a steel stub is a question for the owner.
            match (wooden, words.iter().any(|word| NOT_WOODEN.contains(word))) {
                (true, false) => Coded::Known(Material::Wood),
                (false, true) => Coded::Known(Material::Other),
                _ => Coded::Unmapped,
            }
        }
        coded => coded,
    }
}

const WOODEN: [&str; 3] = ["wood", "wooden", "timber"];
const NOT_WOODEN: [&str; 19] = [
    "steel",
    "concrete",
    "metal",
    "iron",
    "aluminium",
    "aluminum",
    "composite",
    "fibreglass",
    "fiberglass",
    // As lists of street lights shorten them.
    "stl",
    "conc",
    "alum",
    "fbg",
    "frp",
    "grp",
    "galv",
    "galvanised",
    "galvanized",
    "precast",
];

/// Codes that nobody explained: one entry for each file, field and code.
#[derive(Debug, Default)]
pub(super) struct Unmapped {
    seen: BTreeMap<(u16, Field, String), Seen>,
}

#[derive(Debug)]
struct Seen {
    rows: usize,
    first: u32,
    column: String,
    raw: String,
}

impl Unmapped {
    /// Counts a row's code.
    pub(super) fn count(&mut self, row: Row<'_>, field: Field) {
        let raw = row.raw(field).trim();
        let seen = self
            .seen
            .entry((row.bound.file, field, raw.to_lowercase()))
            .or_insert_with(|| Seen {
                rows: 0,
                first: row.line,
                column: row.bound.column(field).to_owned(),
                raw: raw.to_owned(),
            });
        seen.rows += 1;
        seen.first = seen.first.min(row.line);
        // Of several ways to write one code the same is shown whatever the order of the rows.
        if raw < seen.raw.as_str() {
            raw.clone_into(&mut seen.raw);
        }
    }

    /// Counts what another counted.
    pub(super) fn add(&mut self, other: Self) {
        for (code, own) in other.seen {
            let Some(seen) = self.seen.get_mut(&code) else {
                self.seen.insert(code, own);
                continue;
            };
            seen.rows += own.rows;
            seen.first = seen.first.min(own.first);
            if own.raw < seen.raw {
                seen.raw = own.raw;
            }
        }
    }

    /// The codes of one file and field with their counts.
    pub(super) fn of(&self, file: u16, field: Field) -> Vec<(&str, usize)> {
        self.seen
            .iter()
            .filter(|((of_file, of_field, _), _)| (*of_file, *of_field) == (file, field))
            .map(|(_, seen)| (seen.raw.as_str(), seen.rows))
            .collect()
    }

    /// One problem a code.
    pub(super) fn problems(&self) -> impl Iterator<Item = Problem> {
        self.seen.iter().map(|((file, field, _), seen)| Problem {
            code: match field {
                Field::Material => Code::UnknownMaterial,
                _ => Code::UnknownCode,
            },
            source: Source {
                file: *file,
                row: seen.first,
            },
            cell: Some(Cell {
                column: seen.column.clone(),
                raw: seen.raw.clone(),
            }),
            pole: None,
            what: match field {
                Field::Size => format!(
                    "the words in \"{}\" name no species ({})",
                    seen.raw,
                    super::counted(seen.rows, "row")
                ),
                _ => format!(
                    "\"{}\" is no word for {} ({})",
                    seen.raw,
                    field.info().name,
                    super::counted(seen.rows, "row")
                ),
            },
            done: match field {
                Field::Size => "the species is taken as unknown",
                Field::Material => {
                    "nobody knows that they are of wood; planned for as if they were"
                }
                _ => "taken as unknown",
            }
            .to_owned(),
        })
    }
}
