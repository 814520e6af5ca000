//! Pole classes and compound sizes: `4`, `CL 4`, `H2`, `40-4 Southern Pine`, `45/4`, `12m/180`, as text.
//!
//! Says what a text can mean; problems are written where the row is read. Size classes H1 to H6 and hazard classes of
//! treatment H1 to H6 are never guessed between: that is for the reader of the row, who knows the list's units.

use super::cells::{Number, in_small_letters, read_number, trimmed};
use crate::pole::{PoleClass, Species, Vocabulary};
use crate::units::{LengthUnit, Mm};
use std::collections::BTreeMap;

/// What a text says of a class.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum ClassText {
    /// A class of the American tables.
    Known(PoleClass),
    /// A number that is none of them, such as 0 or 8.
    NoSuch,
    /// A name of the owner's own.
    Other,
}

/// The class that a text names: `4`, `4.0`, `04`, `CL 4`, `Class 4`, `C4`, `H2`.
pub(super) fn read_class(text: &str) -> ClassText {
    in_small_letters(trimmed(text), class_of)
}

/// The class that a text in small letters names.
fn class_of(small: &str) -> ClassText {
    let bare = ["class", "cl.", "cl", "c"]
        .into_iter()
        .find_map(|word| small.strip_prefix(word))
        .unwrap_or(small)
        .trim_start_matches([' ', '-', '.'])
        .trim();
    let number = bare.strip_suffix(".0").unwrap_or(bare);
    let whole = number.strip_prefix('h').unwrap_or(number);
    if whole.is_empty() || !whole.bytes().all(|b| b.is_ascii_digit()) {
        return ClassText::Other;
    }
    let plain = whole.trim_start_matches('0');
    let name = if number.starts_with('h') {
        format!("H{plain}")
    } else {
        plain.to_owned()
    };
    PoleClass::from_word(&name).map_or(ClassText::NoSuch, ClassText::Known)
}

/// Words that make an H4 beside them one of treatment.
const TREATMENT_WORDS: [&str; 7] = [
    "hazard",
    "treat",
    "preserv",
    "retention",
    "cca",
    "creosote",
    "use class",
];

/// Whether a text or a column's name speaks of treatment.
pub(super) fn speaks_of_treatment(text: &str) -> bool {
    let small = text.to_lowercase().replace('_', " ");
    TREATMENT_WORDS.iter().any(|word| small.contains(word))
}

/// What a compound size says.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Compound {
    pub length: Option<Mm>,
    /// Whether the length is in metres or millimetres.
    pub metric: bool,
    pub class: Option<PoleClass>,
    pub top_diameter: Option<Mm>,
    pub species: Option<Species>,
    /// Whether words stand in it that name no species.
    pub odd_words: bool,
}

/// Classes end here, and lengths of poles in feet begin well above.
const MOST_CLASS: f64 = 10.0;
/// Shortest length in feet that a bare number can be, and the longest.
const FEET: std::ops::RangeInclusive<f64> = 15.0..=200.0;
/// Top diameters in mm that a bare number can be.
const TOPS: std::ops::RangeInclusive<f64> = 80.0..=500.0;

/// A piece of a size: a number with the letters right before and behind it, or a word.
enum Piece {
    Number {
        before: String,
        value: f64,
        behind: String,
    },
    Word(String),
}

/// The size that a text holds, its bare lengths in `unit`; `None` when it holds none.
pub(super) fn read_size(
    text: &str,
    unit: LengthUnit,
    species: &BTreeMap<String, Species>,
) -> Option<Compound> {
    let mut found = Compound::default();
    let mut words: Vec<String> = Vec::new();
    let mut bare: Vec<f64> = Vec::new();
    let mut class_is_next = false;
    for piece in pieces(text)? {
        match piece {
            Piece::Word(word) if matches!(word.as_str(), "class" | "cl" | "c") => {
                class_is_next = true;
            }
            Piece::Word(word) if unit_of(&word).is_some() && bare.len() == 1 => {
                let value = bare.pop()?;
                found.take_length(value, unit_of(&word)?)?;
            }
            Piece::Word(word) => words.push(word),
            Piece::Number {
                before,
                value,
                behind,
            } => {
                let marked = class_is_next || matches!(before.as_str(), "class" | "cl" | "c" | "h");
                class_is_next = false;
                match (marked, unit_of(&behind)) {
                    (true, None) if behind.is_empty() => {
                        let sign = if before == "h" { "h" } else { "" };
                        found.take_class(&format!("{sign}{value}"))?;
                    }
                    (false, Some(own)) if before.is_empty() => found.take_length(value, own)?,
                    (false, None) if before.is_empty() && behind.is_empty() => bare.push(value),
                    _ => return None,
                }
            }
        }
    }
    found.take_bare(&bare, unit)?;
    let name = words.join(" ");
    found.species = species_of(&name, species);
    found.odd_words = found.species.is_none() && !name.is_empty();
    found.length.map(|_| found)
}

impl Compound {
    /// A length, or a second one in millimetres: the top diameter. `None` where it is a third.
    fn take_length(&mut self, value: f64, unit: LengthUnit) -> Option<()> {
        let length = unit.read(value);
        if unit == LengthUnit::Millimetre && TOPS.contains(&value) {
            return self.top_diameter.replace(length).is_none().then_some(());
        }
        self.metric = !matches!(unit, LengthUnit::Foot | LengthUnit::Inch);
        self.length.replace(length).is_none().then_some(())
    }

    fn take_class(&mut self, text: &str) -> Option<()> {
        let ClassText::Known(class) = read_class(text) else {
            return None;
        };
        self.class.replace(class).is_none().then_some(())
    }

    /// Bare numbers: what is a class cannot be a length, so their order does not matter.
    fn take_bare(&mut self, bare: &[f64], unit: LengthUnit) -> Option<()> {
        for value in bare {
            let metric = self.metric || !matches!(unit, LengthUnit::Foot | LengthUnit::Inch);
            if self.length.is_none() && (metric || FEET.contains(value)) {
                self.take_length(*value, unit)?;
            } else if metric && TOPS.contains(value) && self.top_diameter.is_none() {
                self.top_diameter = Some(Mm(*value));
            } else if *value <= MOST_CLASS && !metric {
                self.take_class(&value.to_string())?;
            } else {
                return None;
            }
        }
        Some(())
    }
}

fn unit_of(word: &str) -> Option<LengthUnit> {
    let (_, unit) = read_number(&format!("1{word}"))?;
    unit
}

/// Numbers and words of a text, separators left out; `None` when a number cannot be read.
fn pieces(text: &str) -> Option<Vec<Piece>> {
    let small = text.trim().to_lowercase();
    let mut pieces = Vec::new();
    for token in small.split([' ', '-', '/', ',', ';', '_', '\u{2013}']) {
        if token.is_empty() {
            continue;
        }
        let Some(start) = token.find(|c: char| c.is_ascii_digit()) else {
            let word = token.trim_matches(|c: char| !c.is_alphanumeric() && c != '\'' && c != '"');
            if !word.is_empty() {
                pieces.push(Piece::Word(word.to_owned()));
            }
            continue;
        };
        let rest = &token[start..];
        let end = rest
            .find(|c: char| !c.is_ascii_digit() && c != '.')
            .unwrap_or(rest.len());
        let Some((Number::One(value), None)) = read_number(&rest[..end]) else {
            return None;
        };
        pieces.push(Piece::Number {
            before: token[..start].trim_end_matches('.').to_owned(),
            value,
            behind: rest[end..].to_owned(),
        });
    }
    Some(pieces)
}

/// Names of species as American lists write them behind a size.
const SPECIES_NAMES: [(&str, Species); 8] = [
    ("sp", Species::Pine),
    ("syp", Species::Pine),
    ("df", Species::DouglasFir),
    ("douglas fir", Species::DouglasFir),
    ("western larch", Species::DouglasFir),
    ("wrc", Species::WesternRedcedar),
    ("western red cedar", Species::WesternRedcedar),
    ("western redcedar", Species::WesternRedcedar),
];

/// The species that words name: by the programme's codes, our own words, or a name of the trade.
fn species_of(name: &str, codes: &BTreeMap<String, Species>) -> Option<Species> {
    let known = codes.get(name).copied();
    let ours = || Species::from_word(&name.replace(' ', "_"));
    let trade = || {
        let named = SPECIES_NAMES.iter().find(|(own, _)| *own == name);
        named
            .map(|(_, species)| *species)
            .or_else(|| name.ends_with(" pine").then_some(Species::Pine))
    };
    known.or_else(ours).or_else(trade)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn class(word: &str) -> PoleClass {
        PoleClass::from_word(word).expect("a class")
    }

    #[test]
    fn classes_are_read_as_people_write_them() {
        for (text, word) in [
            ("4", "4"),
            ("4.0", "4"),
            ("04", "4"),
            ("CL 4", "4"),
            ("Class 4", "4"),
            ("cl. 10", "10"),
            ("C5", "5"),
            ("h2", "H2"),
            ("Class H6", "H6"),
        ] {
            assert_eq!(read_class(text), ClassText::Known(class(word)), "{text}");
        }
        for text in ["0", "8", "11", "H7", "H0"] {
            assert_eq!(read_class(text), ClassText::NoSuch, "{text}");
        }
        for text in ["medium", "4.5", "S", "class", "", "4/5", "cedar", "heavy"] {
            assert_eq!(read_class(text), ClassText::Other, "{text}");
        }
    }

    #[test]
    fn sizes_are_taken_apart() {
        let read = |text| read_size(text, LengthUnit::Foot, &BTreeMap::new()).expect(text);
        for (text, feet, word, species) in [
            ("40-4 Southern Pine", 40.0, "4", Some(Species::Pine)),
            ("45-3 SOUTHERN PINE", 45.0, "3", Some(Species::Pine)),
            ("80-H3 Douglas Fir", 80.0, "H3", Some(Species::DouglasFir)),
            ("45/4", 45.0, "4", None),
            ("40'-4", 40.0, "4", None),
            ("35 ft cl 5", 35.0, "5", None),
            (
                "35ft class 5 WRC",
                35.0,
                "5",
                Some(Species::WesternRedcedar),
            ),
            ("C4-40", 40.0, "4", None),
            ("4/40", 40.0, "4", None),
            ("30-10", 30.0, "10", None),
        ] {
            let size = read(text);
            let length = LengthUnit::Foot.write(size.length.expect("a length"));
            assert!((length - feet).abs() < 1e-9, "{text}");
            assert_eq!(size.class, Some(class(word)), "{text}");
            assert_eq!(size.species, species, "{text}");
            assert!(!size.metric && !size.odd_words, "{text}");
        }
    }

    #[test]
    fn metric_sizes_hold_a_top_diameter() {
        let codes = BTreeMap::from([("eu".to_owned(), Species::Eucalypt)]);
        for (text, unit) in [
            ("12m/180", LengthUnit::Foot),
            ("12 m / 180 mm EU", LengthUnit::Foot),
            ("12/180", LengthUnit::Metre),
        ] {
            let size = read_size(text, unit, &codes).expect(text);
            assert_eq!(size.length, Some(Mm(12_000.0)), "{text}");
            assert_eq!(size.top_diameter, Some(Mm(180.0)), "{text}");
            assert!(size.metric && size.class.is_none(), "{text}");
        }
        let named = read_size("12m/180 EU", LengthUnit::Foot, &codes).expect("a size");
        assert_eq!(named.species, Some(Species::Eucalypt));
        let h = read_size("12m H4", LengthUnit::Foot, &codes).expect("a size");
        assert!(h.metric && h.class == Some(class("H4")));
    }

    #[test]
    fn what_is_no_size_is_none() {
        // A bare number behind metres is neither a class nor a top diameter.
        for text in [
            "", "tall", "40-40", "4", "40-8", "40-4-5", "12/180", "40-4x", "4-5", "12.2m/4",
        ] {
            let size = read_size(text, LengthUnit::Foot, &BTreeMap::new());
            assert_eq!(size, None, "{text}");
        }
        let odd = read_size("40-4 Unobtainium", LengthUnit::Foot, &BTreeMap::new());
        assert!(odd.is_some_and(|size| size.odd_words));
    }
}
