//! What the owner decides about buying: which size goes back in, how sure one wants to be of not running short, how long
//! wood takes, what is in the yard and what else is needed.
//!
//! Plain values with their defaults; the text form is in `text/supply.rs`, the arithmetic in [`crate::supply`]. A size is
//! named as the lists of quantities write it ("12 m class 4"): what stands in a programme need not stand in any list.

use crate::pole::{Preservative, Species};
use crate::units::{Date, LengthUnit, Mm};

/// A size by its names: what is not said is not known, or, in a substitution, not asked for.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SizeName {
    /// Length.
    pub length: Option<Mm>,
    /// Class, as the owner writes it.
    pub class: Option<String>,
}

/// Lengths closer than this are one: 40 ft and 12.2 m are 8 mm apart.
const SAME_LENGTH: Mm = Mm(10.0);

impl SizeName {
    /// The size in a text: "12 m class 4", "40 ft 4", "12 m", "class 4". `None` when it is none.
    pub fn parse(text: &str) -> Option<Self> {
        let text = text.trim();
        let digits = text
            .find(|letter: char| !(letter.is_ascii_digit() || letter == '.'))
            .unwrap_or(text.len());
        let (number, rest) = text.split_at(digits);
        if number.is_empty() {
            let class = class_after_its_word(text)?;
            return Some(Self {
                length: None,
                class: Some(class.to_owned()),
            });
        }
        let rest = rest.trim_start();
        let letters = rest
            .find(|letter: char| !letter.is_ascii_alphabetic())
            .unwrap_or(rest.len());
        let (unit, rest) = rest.split_at(letters);
        let length = LengthUnit::from_word(unit)?.read(number.parse().ok()?);
        let rest = rest.trim_start();
        let class = class_after_its_word(rest).or(Some(rest).filter(|rest| !rest.is_empty()));
        (length.0 > 0.0).then(|| Self {
            length: Some(length),
            class: class.map(str::to_owned),
        })
    }

    /// Whether both name the same size, what is not known included.
    pub fn is(&self, other: &Self) -> bool {
        same_length(self.length, other.length)
            && match (&self.class, &other.class) {
                (Some(one), Some(another)) => one.eq_ignore_ascii_case(another),
                (None, None) => true,
                _ => false,
            }
    }

    /// Whether `size` has what this one asks for.
    fn asks_for(&self, size: &Self) -> bool {
        let asked = Self {
            length: self.length.or(size.length),
            class: self.class.clone().or_else(|| size.class.clone()),
        };
        asked.is(size)
    }

    /// Whether length and class are known.
    pub const fn is_whole(&self) -> bool {
        self.length.is_some() && self.class.is_some()
    }
}

fn same_length(one: Option<Mm>, other: Option<Mm>) -> bool {
    match (one, other) {
        (Some(one), Some(other)) => (one.0 - other.0).abs() < SAME_LENGTH.0,
        (None, None) => true,
        _ => false,
    }
}

/// What follows the word "class".
fn class_after_its_word(text: &str) -> Option<&str> {
    let (word, rest) = text.split_at_checked("class".len())?;
    let class = rest.trim_start();
    (word.eq_ignore_ascii_case("class") && class.len() < rest.len() && !class.is_empty())
        .then_some(class)
}

/// What goes in where a pole of some size comes out.
#[derive(Debug, Clone, PartialEq)]
pub struct Substitution {
    /// The size that comes out; of what is not said any.
    pub from: SizeName,
    /// The size that goes in; what is not said stays.
    pub to: SizeName,
    /// Who answers for a smaller class.
    pub decided_by: Option<String>,
}

/// Poles of one size that are there or on their way.
#[derive(Debug, Clone, PartialEq)]
pub struct Stock {
    /// The size.
    pub size: SizeName,
    /// Species; any when not said.
    pub species: Option<Species>,
    /// Preservative; any when not said.
    pub preservative: Option<Preservative>,
    /// In the yard.
    pub on_hand: u32,
    /// Ordered and not yet there.
    pub on_order: u32,
    /// When those come; in time for everything when not said.
    pub arrives: Option<Date>,
}

/// Poles needed for reasons that no model of wood knows, by number.
#[derive(Debug, Clone, PartialEq)]
pub struct GivenDemand {
    /// Calendar label of the plan year.
    pub year: i16,
    /// The size.
    pub size: SizeName,
    /// Species; that of the policy when not said.
    pub species: Option<Species>,
    /// Preservative; that of the policy when not said.
    pub preservative: Option<Preservative>,
    /// How many.
    pub count: u32,
    /// What for.
    pub what_for: String,
}

/// A kind of pole that may be put back here.
#[derive(Debug, Clone, PartialEq)]
pub struct PutBack {
    /// Species.
    pub species: Species,
    /// Preservative.
    pub preservative: Preservative,
    /// One planned replacement with such a pole; that of the costs when not said.
    pub replacement: Option<f64>,
    /// The law or standard by which it is allowed here.
    pub allowed_by: Option<String>,
}

/// How poles are stacked.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Yard {
    /// Width of a stack.
    pub stack_width: Mm,
    /// Height of a stack above the ground.
    pub stack_height: Mm,
}

/// Highest stack (common practice).
pub const HIGHEST_STACK: Mm = Mm(3_000.0);

/// Clear height below the lowest pole of a stack (common practice).
pub const CLEAR_OF_THE_GROUND: Mm = Mm(150.0);

/// Everything about buying.
#[derive(Debug, Clone, PartialEq)]
pub struct Supply {
    /// Chance of not running short of one size until the next order arrives.
    pub chance_of_not_running_short: f64,
    /// Months from one look at the stock to the next.
    pub review_months: f64,
    /// Weeks of drying in air stacks.
    pub air_drying_weeks: f64,
    /// Weeks of drying in a kiln.
    pub kiln_drying_weeks: f64,
    /// Weeks of treating.
    pub treating_weeks: f64,
    /// Weeks of transport.
    pub transport_weeks: f64,
    /// Poles at least this long are dried in a kiln.
    pub long_from: Mm,
    /// Poles of a treating charge or of what a mill sells at once.
    pub lot_size: Option<u32>,
    /// Poles of 12 m and class 4 that a truck takes.
    pub truck_load: f64,
    /// Kilograms in a cubic metre of treated poles as they are carried.
    pub density: Option<f64>,
    /// Share of the listed poles kept for storms.
    pub storm_reserve: Option<f64>,
    /// The class of hazard or use that the owner orders by, with the standard's name.
    pub use_class: Option<String>,
    /// What goes in for what comes out; of several the first that fits.
    pub substitutions: Vec<Substitution>,
    /// What there is.
    pub stock: Vec<Stock>,
    /// What else is needed.
    pub other_demand: Vec<GivenDemand>,
    /// What may be put back.
    pub put_back: Vec<PutBack>,
    /// How poles are stacked, where that is asked for.
    pub yard: Option<Yard>,
}

impl Default for Supply {
    /// What stands in until an owner says more; the mark of each is in `text/supply.rs`.
    fn default() -> Self {
        Self {
            chance_of_not_running_short: 0.95,
            review_months: 12.0,
            air_drying_weeks: 7.0,
            kiln_drying_weeks: 2.0,
            treating_weeks: 1.0,
            transport_weeks: 2.0,
            long_from: Mm(15_000.0),
            lot_size: None,
            truck_load: 40.0,
            density: None,
            storm_reserve: None,
            use_class: None,
            substitutions: Vec::new(),
            stock: Vec::new(),
            other_demand: Vec::new(),
            put_back: Vec::new(),
            yard: None,
        }
    }
}

impl Supply {
    /// What goes in where a pole of this size comes out.
    pub fn put_in_for(&self, old: &SizeName) -> SizeName {
        let fits = |own: &&Substitution| own.from.asks_for(old);
        self.substitutions.iter().find(fits).map_or_else(
            || old.clone(),
            |own| SizeName {
                length: own.to.length.or(old.length),
                class: own.to.class.clone().or_else(|| old.class.clone()),
            },
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn size(text: &str) -> SizeName {
        SizeName::parse(text).unwrap_or_else(|| panic!("{text}"))
    }

    #[test]
    fn a_size_is_read_as_the_quantities_write_it() {
        let whole = size("12 m class 4");
        assert_eq!(whole.length, Some(Mm(12_000.0)));
        assert_eq!(whole.class.as_deref(), Some("4"));
        assert!(size("12m 4").is(&whole) && size("12 m  Class 4").is(&whole));
        assert!(size("40 ft class H1").is(&size("12.2 m h1")));
        assert_eq!(size("class 4").length, None);
        assert_eq!(size("13.5 m").class, None);
        for none in [
            "",
            "12",
            "m",
            "twelve",
            "class",
            "0 m",
            "12 furlongs class 4",
            "classy 4",
        ] {
            assert_eq!(SizeName::parse(none), None, "{none}");
        }
    }

    #[test]
    fn the_first_substitution_that_fits_says_what_goes_in() {
        let of = |from, to| Substitution {
            from: size(from),
            to: size(to),
            decided_by: None,
        };
        let supply = Supply {
            substitutions: vec![
                of("12 m class 5", "12 m class 4"),
                of("class 5", "class 3"),
                of("9 m", "10 m"),
            ],
            ..Supply::default()
        };
        let into = |old: &str| supply.put_in_for(&size(old));
        assert!(into("12 m class 5").is(&size("12 m class 4")));
        assert!(into("14 m class 5").is(&size("14 m class 3")));
        assert!(into("9 m class 6").is(&size("10 m class 6")));
        assert!(into("12 m class 4").is(&size("12 m class 4")));
        // What is not known is not what a rule asks for.
        assert!(
            supply
                .put_in_for(&SizeName::default())
                .is(&SizeName::default())
        );
    }
}
