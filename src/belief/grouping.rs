//! Cells and areas that findings tie together, and what they trade: findings tell only the sums of their shifts.
//!
//! As many steps up for every theta of a group as down for every b change no sum and no likelihood, so the exact
//! conditional of the trade is the priors' alone (model section 4). Without it a fleet of one area and many findings
//! would keep the split between curve and soil that its first sweep happened to make.

use super::kinship::Kinship;
use super::shifts::{Pair, normalised, pick};

/// Cells and areas of which each shares findings with another, directly or through others.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Group {
    slots: Vec<usize>,
    areas: Vec<usize>,
}

impl Group {
    /// All groups of the pairs that have findings; cells and areas without are in none.
    pub(super) fn all(pairs: &[Pair]) -> Vec<Self> {
        let mut groups: Vec<Self> = Vec::new();
        for pair in pairs.iter().filter(|pair| pair.poles > 0) {
            let (touched, mut others): (Vec<Self>, Vec<Self>) =
                groups.into_iter().partition(|group| {
                    group.slots.contains(&pair.slot) || group.areas.contains(&pair.area)
                });
            let mut joined = Self {
                slots: vec![pair.slot],
                areas: vec![pair.area],
            };
            for group in touched {
                joined.slots.extend(group.slots);
                joined.areas.extend(group.areas);
            }
            joined.slots.sort_unstable();
            joined.slots.dedup();
            joined.areas.sort_unstable();
            joined.areas.dedup();
            others.push(joined);
            groups = others;
        }
        groups
    }

    /// Draws the trade; the logarithm of the prior of b is centred on no shift, no theta goes further than `reach`.
    pub(super) fn trade(
        &self,
        kinship: &Kinship,
        reach: i32,
        theta: &mut [i32],
        area: &mut [i32],
        area_prior: &[f64],
        uniform: f64,
    ) {
        // No b can go further than from one end of its prior to the other.
        let farthest = area_prior.len() as i32 - 1;
        let (slope, bend) = kinship.along(theta, &self.slots);
        let stays = |steps: i32| {
            let mut shifts = self.slots.iter().map(|slot| theta[*slot] + steps);
            shifts.all(|shift| shift.abs() <= reach)
        };
        let ln_mass: Vec<f64> = (-farthest..=farthest)
            .map(|steps| {
                if !stays(steps) {
                    return f64::NEG_INFINITY;
                }
                let along = f64::from(steps);
                let areas = self.areas.iter();
                let areas: f64 = areas
                    .map(|index| ln_prior_at(area_prior, area[*index] - steps))
                    .sum();
                along * (slope - 0.5 * bend * along) + areas
            })
            .collect();
        let steps = pick(&normalised(&ln_mass), uniform) - farthest;
        for slot in &self.slots {
            theta[*slot] += steps;
        }
        for index in &self.areas {
            area[*index] -= steps;
        }
    }
}

/// A prior at a number of steps from its middle: nothing lies beyond its ends.
fn ln_prior_at(ln_prior: &[f64], steps: i32) -> f64 {
    let middle = (ln_prior.len() / 2) as i32;
    usize::try_from(steps + middle)
        .ok()
        .and_then(|node| ln_prior.get(node).copied())
        .unwrap_or(f64::NEG_INFINITY)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::belief::kinship::tests::curve;

    #[test]
    fn a_group_is_whatever_findings_tie_together() {
        let pair = |area, slot, poles| Pair {
            area,
            slot,
            ln_z: Vec::new(),
            poles,
        };
        let pairs = [
            pair(0, 0, 1),
            pair(1, 1, 1),
            pair(2, 2, 1),
            pair(3, 2, 0),
            pair(2, 0, 5),
        ];
        let mut groups = Group::all(&pairs);
        groups.sort_by_key(|group| group.slots.len());
        let group = |slots: &[usize], areas: &[usize]| Group {
            slots: slots.to_vec(),
            areas: areas.to_vec(),
        };
        assert_eq!(groups, [group(&[1], &[1]), group(&[0, 2], &[0, 2])]);
    }

    #[test]
    fn a_trade_changes_no_sum_and_leaves_no_prior() {
        let group = Group {
            slots: vec![0, 1],
            areas: vec![1],
        };
        let flat = |reach: usize| vec![0.0; 2 * reach + 1];
        let kinship = Kinship::new(&[curve(9.0, 0, 1), curve(9.0, 1, 2)]);
        for uniform in [1e-9, 0.3, 0.8, 1.0 - 1e-9] {
            let (mut theta, mut area) = (vec![2, -3], vec![7, 1]);
            group.trade(&kinship, 9, &mut theta, &mut area, &flat(4), uniform);
            assert_eq!(
                (theta[0] + area[1], theta[1] + area[1], area[0]),
                (3, -2, 7)
            );
            assert!(area[1].abs() <= 4 && theta.iter().all(|own| own.abs() <= 9));
        }
    }
}
