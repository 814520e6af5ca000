//! How many new poles are needed between two days, trial by trial.
//!
//! A tally counts by plan year; within its year a new pole may be needed on any day alike, which is drawn by pole, trial and
//! year, so that stretches of time which meet share no pole and lose none. What is already condemned is known and needed
//! from the start of its year; it is taken out of the trials' counts, so that only what is open has a quantile. Where a trial
//! loses a condemned pole earlier, its count comes earlier: the sums stay whole.

use crate::chance::{Key, Purpose, Slot};
use crate::inventory::Inventory;
use crate::pole::{Status, Vocabulary};
use crate::programme::Programme;
use crate::schedule::Schedule;
use crate::trial::{Group, Kind, Tally, tally};

/// A stretch of time, in years from the plan date.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Span {
    /// From.
    pub from: f64,
    /// To, not included.
    pub until: f64,
}

impl Span {
    /// Whether a year starts within.
    pub fn has_start_of(self, year: u16) -> bool {
        let start = f64::from(year);
        self.from <= start && start < self.until
    }

    /// Whether the whole year lies within.
    fn has_all_of(self, year: u16) -> bool {
        let start = f64::from(year);
        self.from <= start && start + 1.0 <= self.until
    }

    /// Whether nothing of the year lies within.
    fn has_nothing_of(self, year: u16) -> bool {
        let start = f64::from(year);
        self.until <= start || start + 1.0 <= self.from
    }
}

/// New poles, or braces, of one tally.
pub struct Demand<'a> {
    tally: &'a Tally,
    kinds: &'static [Kind],
    /// Known needs by group and plan year.
    known: Vec<Vec<u32>>,
    keys: Vec<Key>,
}

impl<'a> Demand<'a> {
    /// New poles.
    pub fn of_poles(
        inventory: &Inventory,
        programme: &Programme,
        schedule: &Schedule,
        tally: &'a Tally,
    ) -> Self {
        Self::new(inventory, programme, tally, &Kind::NEW_POLES, |place| {
            schedule.visits[place].replace
        })
    }

    /// Braces.
    pub fn of_braces(
        inventory: &Inventory,
        programme: &Programme,
        schedule: &Schedule,
        tally: &'a Tally,
    ) -> Self {
        Self::new(inventory, programme, tally, &[Kind::Reinforced], |place| {
            schedule.visits[place].reinforce
        })
    }

    fn new(
        inventory: &Inventory,
        programme: &Programme,
        tally: &'a Tally,
        kinds: &'static [Kind],
        known_in: impl Fn(usize) -> Option<u16>,
    ) -> Self {
        let (groups, group_of) = tally::groups(inventory, programme);
        let mut known = vec![vec![0; usize::from(tally.years())]; groups.len()];
        for (place, group) in group_of.iter().enumerate() {
            let stands = inventory.poles()[place].status != Status::Removed;
            let year = known_in(place).filter(|year| stands && *year < tally.years());
            if let Some(year) = year {
                known[*group][usize::from(year)] += 1;
            }
        }
        Self {
            tally,
            kinds,
            known,
            keys: groups
                .iter()
                .map(|group| Key::of(programme.seed, &name_of(group, inventory)))
                .collect(),
        }
    }

    /// What is known to be needed within `span`.
    pub fn known(&self, groups: &[usize], span: Span) -> u32 {
        let years = (0..self.tally.years()).filter(|year| span.has_start_of(*year));
        years
            .map(|year| -> u32 {
                groups
                    .iter()
                    .map(|group| self.known[*group][usize::from(year)])
                    .sum()
            })
            .sum()
    }

    /// What else every trial asks for within `span`.
    pub fn rest(&self, groups: &[usize], span: Span) -> Vec<u64> {
        (0..self.tally.trials())
            .map(|trial| {
                let cells = groups
                    .iter()
                    .flat_map(|group| (0..self.tally.years()).map(move |year| (*group, year)));
                let sum: i64 = cells
                    .map(|(group, year)| self.rest_of_a_year(trial, group, year, span))
                    .sum();
                sum.max(0) as u64
            })
            .collect()
    }

    fn rest_of_a_year(&self, trial: u32, group: usize, year: u16, span: Span) -> i64 {
        if span.has_nothing_of(year) {
            return 0;
        }
        let count = i64::from(self.tally.needed(trial, year, group, self.kinds));
        let rest = count - i64::from(self.known[group][usize::from(year)]);
        if rest <= 0 {
            // Somebody known to go went earlier: its count stands in an earlier year.
            return if span.has_start_of(year) { rest } else { 0 };
        }
        if span.has_all_of(year) {
            return rest;
        }
        let purpose = Purpose::Day;
        let mut days = self.keys[group].stream(trial, Slot::new(purpose, 0, year));
        let within = (0..rest).filter(|_| {
            let day = f64::from(year) + days.uniform();
            span.from <= day && day < span.until
        });
        within.count() as i64
    }
}

/// A name by which a group's draws are addressed: one more group changes no other's.
fn name_of(group: &Group, inventory: &Inventory) -> String {
    let class = group
        .old
        .class
        .map_or("", |class| inventory.names.get(class));
    format!(
        "needs of {:?} {class} {} {}",
        group.old.length.map(|mm| (mm.0 * 10.0).round()),
        group.species.map_or("", Vocabulary::word),
        group.preservative.map_or("", Vocabulary::word),
    )
}

/// The least count that is enough in at least the share `chance` of the trials: the critical fractile of the newsvendor
/// (Arrow, Harris and Marschak, "Optimal inventory policy", Econometrica 19, 1951), on the trials' own distribution.
pub fn enough(counts: &[u64], chance: f64) -> u32 {
    let mut sorted = counts.to_vec();
    sorted.sort_unstable();
    // A hair off for products such as 0.95 x 1,000.
    let needed = (chance * sorted.len() as f64 - 1e-9).ceil().max(1.0) as usize;
    let count = sorted.get(needed - 1).or_else(|| sorted.last());
    count.map_or(0, |count| u32::try_from(*count).unwrap_or(u32::MAX))
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::common::{inventory_of, pole_set, programme};
    use crate::maths::exp;
    use crate::schedule::Visits;
    use crate::trial::life::Event;

    /// A tally of one group whose demand in each of two years is Poisson with this mean.
    pub(in crate::supply) fn poisson(trials: u32, mean: f64) -> (Inventory, Programme, Tally) {
        let mut programme = programme();
        (programme.trials, programme.horizon_years) = (trials, 2);
        let inventory = inventory_of(vec![("A", "L", pole_set(1990), Vec::new())]);
        let (groups, _) = tally::groups(&inventory, &programme);
        let mut tally = Tally::new(&programme, groups);
        let key = Key::of(5, "poisson");
        for trial in 0..trials {
            for year in 0..2 {
                let draw = key.uniform(trial, Slot::new(Purpose::Invent, 0, year));
                for _ in 0..quantile(mean, draw) {
                    tally.count(trial, year, Event::Replaced(Kind::Planned), 0);
                }
            }
        }
        (inventory, programme, tally)
    }

    /// The least k with P(N <= k) >= p of a Poisson count.
    pub(in crate::supply) fn quantile(mean: f64, p: f64) -> u32 {
        let (mut k, mut term) = (0, exp(-mean));
        let mut sum = term;
        while sum < p {
            k += 1;
            term *= mean / f64::from(k);
            sum += term;
        }
        k
    }

    pub(in crate::supply) fn schedule_of(inventory: &Inventory, replace: Option<u16>) -> Schedule {
        let visits = Visits {
            first: None,
            repeat_years: 10,
            after_decay_years: 10,
            first_age_years: 10,
            braced_years: 10,
            method: crate::pole::Method::SoundAndBore,
            replace,
            reinforce: None,
            replace_at_age: None,
        };
        Schedule {
            rows: Vec::new(),
            ranking: Vec::new(),
            packages: Vec::new(),
            visits: vec![visits; inventory.len()],
            crew_days: Vec::new(),
            decisions: crate::schedule::Decisions::default(),
            proof: crate::schedule::Proof::default(),
        }
    }

    #[test]
    fn enough_is_the_newsvendors_quantile_of_a_poisson_demand() {
        let (inventory, programme, tally) = poisson(8_192, 12.0);
        let schedule = schedule_of(&inventory, None);
        let demand = Demand::of_poles(&inventory, &programme, &schedule, &tally);
        for (until, mean) in [(1.0, 12.0), (2.0, 24.0), (1.5, 18.0), (0.25, 3.0)] {
            let counts = demand.rest(&[0], Span { from: 0.0, until });
            for chance in [0.5, 0.8, 0.9, 0.95, 0.99] {
                // 8,192 trials tell a chance to 3.3 standard errors: between these two the answer may lie.
                let error = 3.3 * (chance * (1.0 - chance) / 8_192.0_f64).sqrt();
                let (low, high) = (
                    quantile(mean, chance - error),
                    quantile(mean, chance + error),
                );
                let found = enough(&counts, chance);
                assert!(
                    (low..=high).contains(&found),
                    "{until} {chance}: {found}, {low} to {high}"
                );
            }
        }
    }

    #[test]
    fn stretches_that_meet_share_no_pole_and_lose_none() {
        let (inventory, programme, tally) = poisson(64, 9.0);
        let schedule = schedule_of(&inventory, None);
        let demand = Demand::of_poles(&inventory, &programme, &schedule, &tally);
        let of = |from, until| demand.rest(&[0], Span { from, until });
        let parts = [of(0.0, 0.3), of(0.3, 1.4), of(1.4, 2.0)];
        for (trial, all) in of(0.0, 2.0).iter().enumerate() {
            assert_eq!(parts.iter().map(|part| part[trial]).sum::<u64>(), *all);
        }
    }

    #[test]
    fn what_is_known_is_no_part_of_the_rest() {
        // The one pole is condemned for the second year: each trial needs it, and in trial 0 it fails in the first.
        let (inventory, programme, mut tally) = poisson(2, 0.0);
        tally.count(0, 0, Event::Replaced(Kind::AfterFailure), 0);
        tally.count(1, 1, Event::Replaced(Kind::Planned), 0);
        let schedule = schedule_of(&inventory, Some(1));
        let demand = Demand::of_poles(&inventory, &programme, &schedule, &tally);
        let both = Span {
            from: 0.0,
            until: 2.0,
        };
        assert_eq!(
            (demand.known(&[0], both), demand.rest(&[0], both)),
            (1, vec![0, 0])
        );
        let first = Span {
            from: 0.0,
            until: 1.0,
        };
        assert_eq!(
            (demand.known(&[0], first), demand.rest(&[0], first)),
            (0, vec![1, 0])
        );
    }

    #[test]
    fn enough_is_an_order_statistic() {
        let counts: Vec<u64> = (1..=20).rev().collect();
        assert_eq!(enough(&counts, 0.95), 19);
        assert_eq!(enough(&counts, 0.951), 20);
        assert_eq!(enough(&counts, 0.5), 10);
        assert_eq!(enough(&[], 0.9), 0);
    }
}
