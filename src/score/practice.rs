//! Whether inspections find what they should: by method and contractor, what was found against what like poles should
//! show at the method's sensitivity, and who found far less than the others.
//!
//! A statistical comparison of records and nothing more: it points at whose work to check in the field and proves no
//! fault. Expectations come from [`super::expected`], intervals from [`super::exact`].

use super::exact::{Interval, at_most, share_interval};
use super::expected::Expectation;
use super::metrics::LEVEL;
use crate::belief::Beliefs;
use crate::inventory::Inventory;
use crate::pole::{Method, NameIndex};
use crate::programme::Programme;
use std::collections::BTreeMap;

/// A contractor stands out who found less than this share of what the others found of what they should (proposed:
/// soils and batches alone make lines differ by a third or so).
const FAR_BELOW: f64 = 0.5;
/// And whose finds would be so few by chance less often than this (proposed: one false alarm in a hundred lists of ten).
const HARDLY_CHANCE: f64 = 0.001;

/// Finds of one kind.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Finds {
    /// How many there were.
    pub found: usize,
    /// How many there should have been.
    pub expected: f64,
}

impl Finds {
    fn add(&mut self, found: bool, expected: f64) {
        self.found += usize::from(found);
        self.expected += expected;
    }

    fn with(self, other: Self) -> Self {
        Self {
            found: self.found + other.found,
            expected: self.expected + other.expected,
        }
    }

    fn without(self, other: Self) -> Self {
        Self {
            found: self.found - other.found,
            expected: (self.expected - other.expected).max(0.0),
        }
    }

    /// Found over expected; `None` when nothing was expected.
    pub fn ratio(self) -> Option<f64> {
        (self.expected > 0.0).then(|| self.found as f64 / self.expected)
    }

    /// Exact interval of the share found of so many inspections.
    pub fn interval(self, inspections: usize) -> Interval {
        share_interval(self.found, inspections, LEVEL)
    }
}

/// What some inspections found.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Tally {
    /// How many there were.
    pub inspections: usize,
    /// Poles with decay, those below the limit included.
    pub decayed: Finds,
    /// Poles below the limit.
    pub rejected: Finds,
}

impl Tally {
    fn with(self, other: Self) -> Self {
        Self {
            inspections: self.inspections + other.inspections,
            decayed: self.decayed.with(other.decayed),
            rejected: self.rejected.with(other.rejected),
        }
    }

    fn without(self, other: Self) -> Self {
        Self {
            inspections: self.inspections - other.inspections,
            decayed: self.decayed.without(other.decayed),
            rejected: self.rejected.without(other.rejected),
        }
    }
}

/// Why a row stands out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StandsOut {
    /// Far less decay than the others found on like poles.
    LittleDecay,
    /// Far fewer poles below the limit than the others found on like poles.
    FewRejects,
    /// Nobody to compare with, and far less decay than the curves and the method should give.
    LittleDecayAtAll,
}

/// What one contractor, or one inspector, found with one method.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Row {
    /// The method.
    pub method: Method,
    /// The contractor; `None` where none is recorded.
    pub contractor: Option<NameIndex>,
    /// One of the contractor's inspectors; `None` in the row of all of them.
    pub inspector: Option<NameIndex>,
    /// What was found.
    pub own: Tally,
    /// What all others found with methods that look into the wood.
    pub others: Tally,
    /// Chance of so little decay by chance alone; `None` when nothing can be compared.
    pub chance_of_so_little: Option<f64>,
    /// Why it stands out, when it does.
    pub stands_out: Option<StandsOut>,
}

/// Method, contractor and inspector.
type Who = (Method, Option<NameIndex>, Option<NameIndex>);
/// What each found.
type Tallies = BTreeMap<Who, Tally>;

/// What was found by method and contractor, in that order, and below each contractor by inspector where any is recorded.
/// Looks that do not look into the wood are left out.
pub fn practice(inventory: &Inventory, programme: &Programme, beliefs: &Beliefs) -> Vec<Row> {
    let mut expectation = Expectation::new(inventory, programme, beliefs);
    let mut tallies = Tallies::new();
    for pole in inventory.indices() {
        for expected in expectation.of_pole(pole) {
            let look = expected.look;
            if look.method.is_intrusive() {
                let tally = tallies
                    .entry((look.method, look.contractor, look.inspector))
                    .or_default();
                tally.inspections += 1;
                let sound = look.verdict == crate::pole::Verdict::Sound;
                tally.decayed.add(!sound, expected.chance.decayed);
                tally
                    .rejected
                    .add(look.verdict.is_reject(), expected.chance.rejected);
            }
        }
    }
    judged(&tallies)
}

fn judged(tallies: &Tallies) -> Vec<Row> {
    let of = |wanted: &dyn Fn(&Who) -> bool| {
        let own = tallies.iter().filter(|(who, _)| wanted(who));
        own.fold(Tally::default(), |sum, (_, tally)| sum.with(*tally))
    };
    let all = of(&|_| true);
    let row = |method, contractor, inspector, own: Tally, his: Tally| {
        let others = all.without(his);
        let (chance, stands_out) = judge(own, others);
        Row {
            method,
            contractor,
            inspector,
            own,
            others,
            chance_of_so_little: chance,
            stands_out,
        }
    };
    let mut rows = Vec::new();
    for (method, contractor, _) in tallies.keys() {
        let (method, contractor) = (*method, *contractor);
        let is_told = |row: &Row| (row.method, row.contractor) == (method, contractor);
        if rows.last().is_some_and(is_told) {
            continue;
        }
        let own = of(&|who| (who.0, who.1) == (method, contractor));
        rows.push(row(
            method,
            contractor,
            None,
            own,
            of(&|who| who.1 == contractor),
        ));
        let people = tallies
            .iter()
            .filter(|((of, at, who), _)| (*of, *at) == (method, contractor) && who.is_some());
        rows.extend(people.map(|((_, _, inspector), own)| {
            let his = of(&|who| (who.1, who.2) == (contractor, *inspector));
            row(method, contractor, *inspector, *own, his)
        }));
    }
    rows
}

/// Whether a tally stands out from the others', and the chance of so little decay.
fn judge(own: Tally, others: Tally) -> (Option<f64>, Option<StandsOut>) {
    let alone = others.decayed.found == 0;
    let decay = if alone {
        by_chance_alone(own.inspections, own.decayed)
    } else {
        by_chance(own.decayed, others.decayed)
    };
    let far_below = |finds: Finds, peers: Finds| match (finds.ratio(), peers.ratio()) {
        (Some(own), Some(others)) => own < FAR_BELOW * others,
        _ => false,
    };
    let expected_only = Finds {
        found: 1,
        expected: 1.0,
    };
    let stands_out = if alone {
        let low = decay.is_some_and(|chance| chance < HARDLY_CHANCE)
            && far_below(own.decayed, expected_only);
        low.then_some(StandsOut::LittleDecayAtAll)
    } else if decay.is_some_and(|chance| chance < HARDLY_CHANCE)
        && far_below(own.decayed, others.decayed)
    {
        Some(StandsOut::LittleDecay)
    } else {
        let rejects = by_chance(own.rejected, others.rejected);
        let few = rejects.is_some_and(|chance| chance < HARDLY_CHANCE)
            && far_below(own.rejected, others.rejected);
        few.then_some(StandsOut::FewRejects)
    };
    (decay, stands_out)
}

/// Chance that of all finds so few fall to one of two, who should have them in the proportion of what each should find:
/// the exact conditional test of two counts (Przyborowski and Wilenski, 1940).
fn by_chance(own: Finds, others: Finds) -> Option<f64> {
    let expected = own.expected + others.expected;
    (expected > 0.0 && own.found + others.found > 0)
        .then(|| at_most(own.found, own.found + others.found, own.expected / expected))
}

/// Chance of so few finds where each inspection finds with the mean of what is expected.
fn by_chance_alone(inspections: usize, own: Finds) -> Option<f64> {
    (inspections > 0).then(|| at_most(own.found, inspections, own.expected / inspections as f64))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tally(inspections: usize, found: usize, expected: f64) -> Tally {
        Tally {
            inspections,
            decayed: Finds { found, expected },
            rejected: Finds::default(),
        }
    }

    #[test]
    fn who_finds_a_third_of_what_the_others_find_stands_out() {
        // 20 of 60 expected against 120 of 120: under equal work own ~ Binomial(140, 1/3), mean 46.7, sd 5.6.
        let (chance, why) = judge(tally(500, 20, 60.0), tally(1000, 120, 120.0));
        assert_eq!(why, Some(StandsOut::LittleDecay));
        assert!(chance.is_some_and(|chance| chance < 1e-6), "{chance:?}");
    }

    #[test]
    fn few_finds_that_may_be_chance_do_not_stand_out() {
        // 1 of 4 expected: less than half of the others' share, and nothing rare: (2/3)^13 and more.
        assert_eq!(judge(tally(40, 1, 4.0), tally(80, 12, 8.0)).1, None);
        // 80 % of what the others find, however many there are: soils differ that much.
        assert_eq!(
            judge(tally(50_000, 4_000, 5_000.0), tally(50_000, 5_000, 5_000.0)).1,
            None
        );
    }

    #[test]
    fn who_is_alone_is_held_to_the_curves() {
        assert_eq!(
            judge(tally(500, 10, 60.0), Tally::default()).1,
            Some(StandsOut::LittleDecayAtAll)
        );
        assert_eq!(judge(tally(500, 50, 60.0), Tally::default()).1, None);
    }

    #[test]
    fn finds_of_two_methods_of_one_contractor_are_not_his_peers() {
        let names = |number| Some(NameIndex::new(number));
        let tallies = BTreeMap::from([
            ((Method::SoundAndBore, names(0), None), tally(100, 5, 5.0)),
            (
                (Method::PartialExcavation, names(0), None),
                tally(100, 7, 7.0),
            ),
            (
                (Method::PartialExcavation, names(1), None),
                tally(100, 9, 9.0),
            ),
        ]);
        let rows = judged(&tallies);
        assert_eq!(rows.len(), 3);
        assert_eq!(rows[0].others.decayed.found, 9);
        let other = rows
            .iter()
            .find(|row| row.contractor == names(1))
            .expect("a row");
        assert_eq!(other.others.decayed.found, 12);
    }

    #[test]
    fn inspectors_stand_below_their_contractor_and_are_held_to_everybody_else() {
        let names = |number| Some(NameIndex::new(number));
        let tallies = BTreeMap::from([
            ((Method::SoundAndBore, names(0), None), tally(100, 10, 10.0)),
            (
                (Method::SoundAndBore, names(0), names(7)),
                tally(500, 20, 60.0),
            ),
            (
                (Method::SoundAndBore, names(1), names(8)),
                tally(1000, 110, 110.0),
            ),
        ]);
        let rows = judged(&tallies);
        let told: Vec<_> = rows
            .iter()
            .map(|row| (row.contractor, row.inspector, row.own.inspections))
            .collect();
        let expected = [
            (names(0), None, 600),
            (names(0), names(7), 500),
            (names(1), None, 1000),
            (names(1), names(8), 1000),
        ];
        assert_eq!(told, expected);
        // As in the test above: 20 of 60 expected against 120 of 120.
        assert_eq!(rows[1].stands_out, Some(StandsOut::LittleDecay));
    }
}
