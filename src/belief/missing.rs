//! Facts that the list does not give, as distributions (model section 6): never one guessed value.

use crate::inventory::Inventory;
use crate::maths::{exp, quantile_of_sorted};
use crate::pole::{Inspection, NameIndex, Pole, PoleIndex, Status};
use crate::programme::Programme;
use crate::units::{Date, Mm, mid_year, years_between};
use crate::wood::progress::REFERENCE_DIAMETER;
use crate::wood::strength::measured_diameter;
use std::collections::BTreeMap;

use super::grid::normal_nodes;

/// Weight of the whole inventory's set years beside those of the pole's own line, in poles (proposed): a line with
/// few dated poles leans on the inventory, one with many speaks for itself.
const INVENTORY_WEIGHT: f64 = 5.0;

/// Most ages that stand for the install years of an undated pole.
const AGE_NODES: usize = 12;

/// Standard deviation of ln diameter of a pole whose groundline was never measured, around the inventory's median
/// (proposed: pole classes within a fleet span about 30 % in diameter).
const UNMEASURED_DIAMETER_LN_SD: f64 = 0.12;

/// What stands in for missing facts.
#[derive(Debug, Clone)]
pub struct Missing {
    plan_from: Date,
    assumed_years: (i16, i16),
    by_line: BTreeMap<Option<NameIndex>, BTreeMap<i16, f64>>,
    everywhere: BTreeMap<i16, f64>,
    usual_diameter: Mm,
}

impl Missing {
    /// Gathers what the recorded poles say about the unrecorded ones.
    pub fn new(inventory: &Inventory, programme: &Programme) -> Self {
        let mut by_line: BTreeMap<_, BTreeMap<i16, f64>> = BTreeMap::new();
        let mut everywhere: BTreeMap<i16, f64> = BTreeMap::new();
        for pole in inventory.poles() {
            if let Some(set) = pole.installed.filter(|_| pole.status != Status::Removed) {
                *by_line
                    .entry(pole.line)
                    .or_default()
                    .entry(set.year())
                    .or_default() += 1.0;
                *everywhere.entry(set.year()).or_default() += 1.0;
            }
        }
        let mut measured: Vec<f64> = inventory
            .poles()
            .iter()
            .filter_map(|pole| pole.diameter)
            .map(|mm| mm.0)
            .collect();
        measured.sort_by(f64::total_cmp);
        Self {
            plan_from: programme.plan_from,
            assumed_years: programme.assumed_install_years,
            by_line,
            everywhere,
            usual_diameter: quantile_of_sorted(&measured, 0.5).map_or(REFERENCE_DIAMETER, Mm),
        }
    }

    /// Ages at the plan date with their probabilities: one for a dated pole; for others the years of the line's and
    /// the inventory's dated poles, cut by the first inspection.
    pub fn ages(&self, pole: &Pole, inspections: &[Inspection]) -> Vec<(f64, f64)> {
        if let Some(set) = pole.installed {
            return vec![(years_between(set, self.plan_from).max(0.0), 1.0)];
        }
        let latest = inspections
            .iter()
            .map(|visit| visit.date)
            .min()
            .unwrap_or(self.plan_from)
            .min(self.plan_from);
        let mut years = self.set_years(pole.line);
        years.retain(|(year, _)| mid_year(*year) <= latest);
        if years.is_empty() {
            years.push((latest.year() - 1, 1.0));
        }
        let ages: Vec<(f64, f64)> = years
            .iter()
            .rev()
            .map(|(year, weight)| {
                (
                    years_between(mid_year(*year), self.plan_from).max(0.0),
                    *weight,
                )
            })
            .collect();
        compress(&ages, AGE_NODES)
    }

    /// Whether the ages of undated poles are those of dated poles in the list, which all are still there. Otherwise they
    /// are the assumed years of setting, of whatever became of the poles.
    pub fn ages_are_of_listed_poles(&self) -> bool {
        !self.everywhere.is_empty()
    }

    /// Set years and their weights for the undated poles of a line, oldest first.
    fn set_years(&self, line: Option<NameIndex>) -> Vec<(i16, f64)> {
        let total: f64 = self.everywhere.values().sum();
        if total == 0.0 {
            let (first, last) = self.assumed_years;
            return (first..=last).map(|year| (year, 1.0)).collect();
        }
        let own = self.by_line.get(&line).filter(|_| line.is_some());
        self.everywhere
            .iter()
            .map(|(year, count)| {
                let here = own
                    .and_then(|years| years.get(year))
                    .copied()
                    .unwrap_or(0.0);
                (*year, here + INVENTORY_WEIGHT * count / total)
            })
            .collect()
    }

    /// Groundline diameters when new with their probabilities: one where it is measured or where no reading needs it.
    pub fn diameters(&self, pole: &Pole, inspections: &[Inspection]) -> Vec<(Mm, f64)> {
        if let Some(known) = pole.diameter.or_else(|| seen_diameter(inspections)) {
            return vec![(known, 1.0)];
        }
        let needs_it = inspections.iter().any(|visit| {
            visit.remaining_circumference.is_some()
                || visit.outside_decay_depth.is_some()
                || visit.sound_shell.is_some()
                || visit.least_sound_shell.is_some()
        });
        if !needs_it {
            return vec![(self.usual_diameter, 1.0)];
        }
        normal_nodes()
            .into_iter()
            .map(|(z, weight)| {
                (
                    Mm(self.usual_diameter.0 * exp(UNMEASURED_DIAMETER_LN_SD * z)),
                    weight,
                )
            })
            .collect()
    }
}

/// The diameter that some visit shows: measured where the wood is sound.
fn seen_diameter(inspections: &[Inspection]) -> Option<Mm> {
    let original = inspections
        .iter()
        .find_map(|visit| visit.original_circumference);
    original
        .map(Mm::diameter_of_circumference)
        .or_else(|| inspections.iter().find_map(measured_diameter))
}

/// At most `most` values that stand for a longer list: the means of stretches of equal weight.
fn compress(values: &[(f64, f64)], most: usize) -> Vec<(f64, f64)> {
    let total: f64 = values.iter().map(|(_, weight)| weight).sum();
    let mut bins = vec![(0.0, 0.0); most];
    let mut before = 0.0;
    for (value, weight) in values {
        let share = weight / total;
        // A value that straddles the border of two stretches is split between them.
        let mut left = share;
        while left > 1e-12 {
            let bin = ((before * most as f64) as usize).min(most - 1);
            let room = if bin + 1 == most {
                left
            } else {
                ((bin + 1) as f64 / most as f64 - before).max(1e-12)
            };
            let part = left.min(room);
            bins[bin].0 += value * part;
            bins[bin].1 += part;
            before += part;
            left -= part;
        }
    }
    bins.into_iter()
        .filter(|(_, mass)| *mass > 0.0)
        .map(|(sum, mass)| (sum / mass, mass))
        .collect()
}

/// Whether anything dates the pole itself.
pub fn age_is_recorded(inventory: &Inventory, pole: PoleIndex) -> bool {
    inventory.pole(pole).installed.is_some()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn compressing_keeps_mass_and_mean() {
        let values: Vec<(f64, f64)> = (0..60)
            .map(|year| (f64::from(year), 1.0 + f64::from(year % 7)))
            .collect();
        let mean = |list: &[(f64, f64)]| {
            list.iter().map(|(v, w)| v * w).sum::<f64>() / list.iter().map(|(_, w)| w).sum::<f64>()
        };
        let short = compress(&values, 12);
        assert!(short.len() <= 12);
        assert!((short.iter().map(|(_, w)| w).sum::<f64>() - 1.0).abs() < 1e-9);
        assert!((mean(&short) - mean(&values)).abs() < 1e-9);
    }
}
