//! The rounds of inspection that an invented line got: when, by whom, with what method.
//!
//! A round visits a line from end to end (a census); which lines had one says nothing about their wood.

use super::Recipe;
use super::dice::Dice;
use super::landscape::{DISTRICTS, Line};
use crate::inventory::Names;
use crate::pole::{Method, NameIndex};
use crate::units::{Date, date_after, mid_year};

/// One round over one line.
#[derive(Debug, Clone, Copy)]
pub(super) struct Round {
    /// First day.
    pub start: Date,
    /// Method.
    pub method: Method,
    /// Contractor.
    pub contractor: NameIndex,
    /// Whether this contractor tapes girths, where others probe depths.
    pub girths: bool,
}

/// Poles that a crew inspects in a day.
const POLES_A_DAY: usize = 25;

impl Round {
    /// The day on which the round reaches a site of the line.
    pub(super) fn day_at(&self, site: usize) -> Date {
        let weekends = site / POLES_A_DAY / 5 * 2;
        date_after(
            self.start,
            (site / POLES_A_DAY + weekends) as f64 / 365.2425,
        )
    }
}

/// The methods of the invented owner until which year.
const METHODS: [(i16, [(Method, f64); 3]); 3] = [
    (
        1994,
        [
            (Method::Sound, 0.15),
            (Method::SoundAndBore, 0.85),
            (Method::PartialExcavation, 0.0),
        ],
    ),
    (
        2009,
        [
            (Method::SoundAndBore, 0.45),
            (Method::PartialExcavation, 0.45),
            (Method::FullExcavation, 0.10),
        ],
    ),
    (
        i16::MAX,
        [
            (Method::SoundAndBore, 0.10),
            (Method::PartialExcavation, 0.50),
            (Method::FullExcavation, 0.40),
        ],
    ),
];

/// Contractors of the invented owner, none of whom exists.
const CONTRACTORS: [&str; 4] = ["north crew", "south crew", "river crew", "hill crew"];

/// Cycles in severe decay zones over cycles elsewhere.
const SEVERE_PACE: f64 = 0.8;

/// The rounds that line number `number` got until today, oldest first.
pub(super) fn rounds(recipe: &Recipe, line: &Line, number: usize, names: &mut Names) -> Vec<Round> {
    let mut dice = Dice::of(recipe.seed, &format!("rounds {}", line.name));
    // Lines in severe zones are visited more often, as the trade does.
    let severe = DISTRICTS[line.district].zone >= 4;
    let pace = if severe { SEVERE_PACE } else { 1.0 };
    let (low, high) = (pace * recipe.cycle_years.0, pace * recipe.cycle_years.1);
    let mut year = f64::from(recipe.first_round_year) + high * phase(number);
    let mut rounds = Vec::new();
    while year < f64::from(recipe.today.year()) {
        rounds.push(round(year as i16, line, names, &mut dice));
        year += dice.between(low, high);
    }
    rounds
}

/// Where in a cycle line number `number` began: multiples of the golden section spread any count of lines evenly, as an
/// owner does who wants the same work every year.
fn phase(number: usize) -> f64 {
    const GOLDEN: f64 = 0.618_033_988_749_894_9;
    (number as f64 * GOLDEN).fract()
}

fn round(year: i16, line: &Line, names: &mut Names, dice: &mut Dice) -> Round {
    let era = METHODS.iter().find(|(last, _)| year <= *last);
    let methods = era.unwrap_or(&METHODS[2]).1;
    // Each district works mostly with its own two contractors.
    let first = 2 * (line.district % DISTRICTS.len());
    let contractor = first + usize::from(dice.chance(0.4));
    Round {
        // From March to the end of September.
        start: date_after(mid_year(year), dice.between(-0.33, 0.2)),
        method: dice.pick(&methods),
        contractor: names.keep(CONTRACTORS[contractor]),
        girths: contractor % 2 == 1,
    }
}

#[cfg(test)]
mod tests {
    use super::super::landscape::lines;
    use super::*;

    #[test]
    fn every_line_has_a_round_a_cycle_and_none_in_the_future() {
        let recipe = Recipe {
            poles: 3000,
            ..Recipe::default()
        };
        let mut names = Names::default();
        for (number, line) in lines(&recipe).into_iter().enumerate() {
            let rounds = rounds(&recipe, &line, number, &mut names);
            assert!((3..=6).contains(&rounds.len()), "{rounds:?}");
            for pair in rounds.windows(2) {
                let gap = crate::units::years_between(pair[0].start, pair[1].start);
                // Rounding down to years moves a round by one, the season by half a year.
                assert!((6.0..=14.0).contains(&gap), "{gap}");
            }
            assert!(rounds.iter().all(|round| round.start < recipe.today));
        }
    }
}
