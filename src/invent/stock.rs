//! What the invented owner bought in which year: species, preservative, size.
//!
//! Shares and dates are made up along the lines of how the trade's preservatives followed each other.

use super::dice::Dice;
use crate::pole::{Preservative, Species};
use crate::units::Mm;

/// Poles as bought.
#[derive(Debug, Clone, Copy)]
pub(super) struct Stock {
    /// Species.
    pub species: Species,
    /// Preservative.
    pub preservative: Preservative,
    /// Through-bored, where that is usual.
    pub through_bored: Option<bool>,
    /// Length in metres.
    pub length_m: f64,
    /// Class number: a small number is a thick pole.
    pub class: u8,
}

impl Stock {
    /// Groundline diameter of the invented sizes: 300 mm for 12 m of class 4, thicker when longer or stronger.
    pub(super) fn mean_diameter(&self) -> Mm {
        Mm(300.0 + 10.0 * (self.length_m - 12.0) + 20.0 * (4.0 - f64::from(self.class)))
    }
}

type Era = (i16, &'static [((Species, Preservative), f64)]);

/// What was bought until which year: an invented owner's purchases.
const ERAS: [Era; 5] = [
    (
        1964,
        &[
            ((Species::Pine, Preservative::Creosote), 0.58),
            ((Species::WesternRedcedar, Preservative::ButtTreated), 0.22),
            ((Species::DouglasFir, Preservative::Creosote), 0.12),
            ((Species::HardwoodClass1, Preservative::Untreated), 0.03),
            ((Species::Pine, Preservative::Pentachlorophenol), 0.05),
        ],
    ),
    (
        1979,
        &[
            ((Species::Pine, Preservative::Creosote), 0.38),
            ((Species::Pine, Preservative::Pentachlorophenol), 0.34),
            ((Species::DouglasFir, Preservative::Pentachlorophenol), 0.12),
            ((Species::WesternRedcedar, Preservative::ButtTreated), 0.08),
            ((Species::Pine, Preservative::Cca), 0.08),
        ],
    ),
    (
        1999,
        &[
            ((Species::Pine, Preservative::Pentachlorophenol), 0.40),
            ((Species::Pine, Preservative::Cca), 0.36),
            ((Species::DouglasFir, Preservative::Pentachlorophenol), 0.14),
            ((Species::Pine, Preservative::Creosote), 0.10),
        ],
    ),
    (
        2014,
        &[
            ((Species::Pine, Preservative::Cca), 0.55),
            ((Species::Pine, Preservative::Pentachlorophenol), 0.16),
            ((Species::Pine, Preservative::CopperNaphthenate), 0.14),
            ((Species::DouglasFir, Preservative::Pentachlorophenol), 0.15),
        ],
    ),
    (
        i16::MAX,
        &[
            ((Species::Pine, Preservative::CopperNaphthenate), 0.42),
            ((Species::Pine, Preservative::Cca), 0.40),
            ((Species::DouglasFir, Preservative::CopperNaphthenate), 0.18),
        ],
    ),
];

/// Lengths in metres and class numbers of the invented purchases.
const SIZES: [((f64, u8), f64); 8] = [
    ((9.0, 6), 0.10),
    ((10.5, 5), 0.22),
    ((12.0, 5), 0.20),
    ((12.0, 4), 0.22),
    ((13.5, 4), 0.12),
    ((13.5, 3), 0.06),
    ((15.0, 3), 0.06),
    ((16.5, 2), 0.02),
];

/// Stock as bought in a year; the size of the pole that it replaces is kept when there is one.
pub(super) fn bought(year: i16, size: Option<(f64, u8)>, dice: &mut Dice) -> Stock {
    let era = ERAS
        .iter()
        .find(|(last, _)| year <= *last)
        .unwrap_or(&ERAS[4]);
    let (species, preservative) = dice.pick(era.1);
    let (length_m, class) = size.unwrap_or_else(|| dice.pick(&SIZES));
    // Through-boring spread in the trade for species with a thin treated shell; the date here is invented.
    let through_bored = (species == Species::DouglasFir).then(|| year >= 1990 && dice.chance(0.6));
    Stock {
        species,
        preservative,
        through_bored,
        length_m,
        class,
    }
}
