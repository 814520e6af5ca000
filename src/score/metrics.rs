//! How good stated chances were, once it is known what happened: Brier score, log score, reliability, capture.
//!
//! Knows chances and outcomes, nothing of poles. The scores are those of Brier (1950) and Good (1952), both better when
//! smaller; their errors reckon that outcomes of one group (a line) hang together.

use super::exact::{Interval, share_interval};
use crate::maths::ln;
use std::collections::BTreeMap;

/// Chances are kept this far from 0 and 1, so that one surprise costs much and not everything.
const LEAST_CHANCE: f64 = 1e-9;

/// Level of all intervals of shares.
pub const LEVEL: f64 = 0.95;

/// Upper bounds of the bins of reliability: chances of rejects are small, so the bins are fine where they are.
pub const BINS: [f64; 9] = [0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0];

/// Shares of the ranking whose catch is shown.
pub const TOPS: [f64; 3] = [0.1, 0.2, 0.3];

/// A mean with its standard error.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Measured {
    /// The mean.
    pub mean: f64,
    /// Its standard error.
    pub standard_error: f64,
}

/// The mean of values that hang together within their groups: each value with its group.
pub fn mean_of(values: &[(f64, u32)]) -> Measured {
    let n = values.len() as f64;
    let mean = values.iter().map(|(value, _)| value).sum::<f64>() / n;
    let mut by_group: BTreeMap<u32, f64> = BTreeMap::new();
    for (value, group) in values {
        *by_group.entry(*group).or_default() += value - mean;
    }
    let groups = by_group.len() as f64;
    let squares: f64 = by_group.values().map(|sum| sum * sum).sum();
    Measured {
        mean,
        standard_error: (squares * groups / (groups - 1.0)).sqrt() / n,
    }
}

/// The log score of one stated chance: minus the logarithm of what was given to what happened.
pub fn log_score(chance: f64, happened: bool) -> f64 {
    let given = if happened { chance } else { 1.0 - chance };
    -ln(given.clamp(LEAST_CHANCE, 1.0))
}

/// The Brier score of one stated chance: the square of its distance from what happened.
pub fn brier_score(chance: f64, happened: bool) -> f64 {
    let off = chance - f64::from(u8::from(happened));
    off * off
}

/// One bin of reliability.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Bin {
    /// Chances above this.
    pub above: f64,
    /// Up to this.
    pub up_to: f64,
    /// How many.
    pub count: usize,
    /// Mean of the chances.
    pub forecast: f64,
    /// How often it happened.
    pub happened: usize,
    /// Exact interval of the share that happened.
    pub interval: Interval,
}

impl Bin {
    /// Share that happened.
    pub fn share(&self) -> f64 {
        self.happened as f64 / self.count as f64
    }

    /// Whether the mean chance lies in the exact interval of what happened.
    pub fn holds(&self) -> bool {
        (self.interval.low..=self.interval.high).contains(&self.forecast)
    }
}

/// Reliability by bins; bins without a case are left out.
pub fn reliability(cases: &[(f64, bool)]) -> Vec<Bin> {
    let mut above = 0.0;
    let mut bins = Vec::new();
    for up_to in BINS {
        let own: Vec<&(f64, bool)> = cases
            .iter()
            .filter(|(chance, _)| *chance <= up_to && (*chance > above || above == 0.0))
            .collect();
        if !own.is_empty() {
            let happened = own.iter().filter(|(_, happened)| *happened).count();
            bins.push(Bin {
                above,
                up_to,
                count: own.len(),
                forecast: own.iter().map(|(chance, _)| chance).sum::<f64>() / own.len() as f64,
                happened,
                interval: share_interval(happened, own.len(), LEVEL),
            });
        }
        above = up_to;
    }
    bins
}

/// What the first part of a ranking caught.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Catch {
    /// Share of the ranking, from the top.
    pub top: f64,
    /// How many happened there; cases of equal chance count in part.
    pub caught: f64,
    /// How many happened in all.
    pub of: usize,
    /// Exact interval of the share caught (of the whole number nearest to it).
    pub interval: Interval,
}

impl Catch {
    /// Share caught.
    pub fn share(&self) -> f64 {
        self.caught / self.of as f64
    }
}

/// What the first `top` of the cases, ranked by their chance, caught. Where the border cuts through cases of equal chance
/// each of them counts with the part that lies above it: no order of rows decides.
pub fn catch(cases: &[(f64, bool)], top: f64) -> Catch {
    let mut ranked: Vec<(f64, bool)> = cases.to_vec();
    ranked.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut room = top * ranked.len() as f64;
    let mut caught = 0.0;
    for equal in ranked.chunk_by(|a, b| a.0.total_cmp(&b.0).is_eq()) {
        let happened = equal.iter().filter(|(_, happened)| *happened).count() as f64;
        let taken = (room / equal.len() as f64).clamp(0.0, 1.0);
        caught += happened * taken;
        room -= equal.len() as f64;
        if room <= 0.0 {
            break;
        }
    }
    let of = cases.iter().filter(|(_, happened)| *happened).count();
    Catch {
        top,
        caught,
        of,
        interval: share_interval((caught.round() as usize).min(of), of, LEVEL),
    }
}

/// The share of what happened that stands in the first part of the ranking: points from (0, 0) to (1, 1), about `points`
/// of them, with straight lines through cases of equal chance.
pub fn lift(cases: &[(f64, bool)], points: u32) -> Vec<(f64, f64)> {
    let mut ranked: Vec<(f64, bool)> = cases.to_vec();
    ranked.sort_by(|a, b| b.0.total_cmp(&a.0));
    let all = ranked
        .iter()
        .filter(|(_, happened)| *happened)
        .count()
        .max(1) as f64;
    let (mut seen, mut caught) = (0, 0);
    let mut curve = vec![(0.0, 0.0)];
    let mut last = 0.0;
    for equal in ranked.chunk_by(|a, b| a.0.total_cmp(&b.0).is_eq()) {
        seen += equal.len();
        caught += equal.iter().filter(|(_, happened)| *happened).count();
        let part = seen as f64 / ranked.len() as f64;
        if part - last >= 1.0 / f64::from(points) || seen == ranked.len() {
            curve.push((part, caught as f64 / all));
            last = part;
        }
    }
    curve
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chance::{Key, Purpose, Slot};

    const ROUNDING: f64 = 1e-12;

    #[test]
    fn scores_of_one_case_are_what_their_formulas_say() {
        assert!((brier_score(0.3, true) - 0.49).abs() < ROUNDING);
        assert!((brier_score(0.3, false) - 0.09).abs() < ROUNDING);
        assert!((log_score(0.25, true) - 4.0_f64.ln()).abs() < ROUNDING);
        assert!((log_score(0.25, false) - (4.0_f64 / 3.0).ln()).abs() < ROUNDING);
        // A sure forecast that fails costs much, and not everything.
        assert!((log_score(0.0, true) - 1e9_f64.ln()).abs() < ROUNDING);
    }

    #[test]
    fn the_error_of_a_mean_knows_that_a_group_hangs_together() {
        // 1, 1, 3, 3 in two groups of two: mean 2, group sums -2 and 2, so sqrt(8 x 2 / 1) / 4 = 1.
        let together = mean_of(&[(1.0, 0), (1.0, 0), (3.0, 1), (3.0, 1)]);
        assert!((together.mean - 2.0).abs() < ROUNDING);
        assert!((together.standard_error - 1.0).abs() < ROUNDING);
        // Each by itself: the usual standard error, sqrt(4 / 3 / 4).
        let alone = mean_of(&[(1.0, 0), (1.0, 1), (3.0, 2), (3.0, 3)]);
        assert!((alone.standard_error - (1.0_f64 / 3.0).sqrt()).abs() < ROUNDING);
    }

    #[test]
    fn every_case_stands_in_one_bin() {
        let cases = [
            (0.0, false),
            (0.002, true),
            (0.003, false),
            (0.3, true),
            (1.0, true),
        ];
        let bins = reliability(&cases);
        assert_eq!(bins.iter().map(|bin| bin.count).sum::<usize>(), cases.len());
        assert_eq!((bins[0].count, bins[0].happened), (2, 1));
        assert!((bins[0].forecast - 0.001).abs() < ROUNDING);
        assert_eq!(
            bins.last().map(|bin| (bin.above, bin.count)),
            Some((0.5, 1))
        );
    }

    #[test]
    fn the_top_of_a_ranking_catches_what_stands_there() {
        let cases = [(0.9, true), (0.5, false), (0.5, true), (0.1, false)];
        assert!((catch(&cases, 0.25).caught - 1.0).abs() < ROUNDING);
        // The border of the first half goes through two equal chances: half of the find counts.
        assert!((catch(&cases, 0.5).caught - 1.5).abs() < ROUNDING);
        assert!((catch(&cases, 1.0).share() - 1.0).abs() < ROUNDING);
        // All equal: the top fifth catches a fifth.
        let flat: Vec<(f64, bool)> = (0..50).map(|case| (0.1, case % 10 == 0)).collect();
        assert!((catch(&flat, 0.2).share() - 0.2).abs() < ROUNDING);
    }

    #[test]
    fn a_lift_curve_ends_where_everything_is_caught() {
        let cases = [(0.9, true), (0.5, false), (0.5, true), (0.1, false)];
        let curve = lift(&cases, 100);
        assert_eq!(curve, [(0.0, 0.0), (0.25, 0.5), (0.75, 1.0), (1.0, 1.0)]);
        assert_eq!(lift(&[], 100), [(0.0, 0.0)]);
    }

    /// Chances spread from 0 to 0.5, and outcomes drawn from what `truly` makes of them.
    fn drawn(truly: impl Fn(f64) -> f64) -> Vec<(f64, bool)> {
        let key = Key::of(7, "reliability");
        (0..20_000)
            .map(|case| {
                let chance = 0.5 * key.uniform(case, Slot::new(Purpose::Find, 0, 0));
                let draw = key.uniform(case, Slot::new(Purpose::Judge, 0, 0));
                (chance, draw < truly(chance))
            })
            .collect()
    }

    #[test]
    fn a_perfect_forecaster_is_calibrated_and_a_spoilt_one_is_not() {
        let perfect = reliability(&drawn(|chance| chance));
        assert!(perfect.iter().all(Bin::holds), "{perfect:?}");
        // Half as often as stated, and a fifth more often: both must show in the fullest bin.
        for spoil in [0.5, 1.2] {
            let bins = reliability(&drawn(|chance| spoil * chance));
            let fullest = bins.iter().max_by_key(|bin| bin.count).expect("bins");
            assert!(!fullest.holds(), "{spoil}: {fullest:?}");
        }
    }
}
