//! Facts that the list does not give, as distributions (model section 6): never one guessed value.

use crate::inventory::Inventory;
use crate::maths::{exp, quantile_of_sorted};
use crate::pole::{Inspection, Loading, NameIndex, Pole, PoleIndex, Status};
use crate::programme::{Limit, Programme};
use crate::units::{Date, Mm, mid_year, years_between};
use crate::wood::progress::REFERENCE_DIAMETER;
use crate::wood::strength::{Required, measured_diameter};
use crate::wood::{LikelyDiameter, Sizes};
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

/// Nodes (in standard deviations) and weights of a diameter that no reading asks for, but a limit in millimetres does:
/// Gauss-Hermite of three points. Progress at the limit bends little over that scatter; nine nodes move no probability by
/// more than 0.002 (tested).
const FEW_NODES: [(f64, f64); 3] = [
    (-1.732_050_807_568_877_2, 1.0 / 6.0),
    (0.0, 2.0 / 3.0),
    (1.732_050_807_568_877_2, 1.0 / 6.0),
];

/// Where a pole's groundline diameter when new comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DiameterOrigin {
    /// Measured, by the list or at a visit.
    Measured,
    /// From the table of its class, for its length and species.
    ClassTable,
    /// From its top diameter and length.
    TopDiameter,
    /// The median of the list's measured diameters, or of those that its classes tell where none is measured; 300 mm where
    /// there are neither.
    Assumed,
}

/// What stands in for missing facts.
#[derive(Debug, Clone)]
pub struct Missing {
    plan_from: Date,
    assumed_years: (i16, i16),
    /// Dated poles by set year: those of a line that were never inspected, and those that were.
    by_line: BTreeMap<(Option<NameIndex>, bool), BTreeMap<i16, f64>>,
    /// The same of the whole list: never inspected, inspected.
    everywhere: [BTreeMap<i16, f64>; 2],
    usual_diameter: Mm,
    sizes: Sizes,
    /// Whether a limit is in millimetres, so that the diameter of every pole matters to it.
    limits_in_mm: bool,
}

impl Missing {
    /// Gathers what the recorded poles say about the unrecorded ones.
    pub fn new(inventory: &Inventory, programme: &Programme, sizes: &Sizes) -> Self {
        let mut by_line: BTreeMap<_, BTreeMap<i16, f64>> = BTreeMap::new();
        let mut everywhere: [BTreeMap<i16, f64>; 2] = Default::default();
        for index in inventory.indices() {
            let pole = inventory.pole(index);
            let seen = !inventory.inspections_of(index).is_empty();
            if let Some(set) = pole.installed.filter(|_| pole.status != Status::Removed) {
                *by_line
                    .entry((pole.line, seen))
                    .or_default()
                    .entry(set.year())
                    .or_default() += 1.0;
                *everywhere[usize::from(seen)].entry(set.year()).or_default() += 1.0;
            }
        }
        let median = |of: &dyn Fn(&Pole) -> Option<Mm>| {
            let known = inventory.poles().iter().filter_map(of);
            let mut known: Vec<f64> = known.map(|mm| mm.0).collect();
            known.sort_by(f64::total_cmp);
            quantile_of_sorted(&known, 0.5).map(Mm)
        };
        let of_class = |pole: &Pole| Some(diameter_of_class(sizes, pole)?.median);
        Self {
            plan_from: programme.plan_from,
            assumed_years: programme.assumed_install_years,
            by_line,
            everywhere,
            usual_diameter: median(&|pole| pole.diameter)
                .or_else(|| median(&of_class))
                .unwrap_or(REFERENCE_DIAMETER),
            sizes: sizes.clone(),
            limits_in_mm: programme
                .rejects
                .iter()
                .any(|rule| matches!(rule.limit, Limit::SoundShell(_))),
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
        let mut years = self.set_years(pole.line, !inspections.is_empty());
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
        self.everywhere.iter().any(|years| !years.is_empty())
    }

    /// Set years and their weights for the undated poles of a line, oldest first: those of its and the inventory's dated
    /// poles that were inspected, or never were, like the pole. Rounds pass young poles by, so that one that no round has
    /// seen is most often young. Where no dated pole is alike in that, those of the others.
    fn set_years(&self, line: Option<NameIndex>, seen: bool) -> Vec<(i16, f64)> {
        if !self.ages_are_of_listed_poles() {
            let (first, last) = self.assumed_years;
            return (first..=last).map(|year| (year, 1.0)).collect();
        }
        let seen = seen != self.everywhere[usize::from(seen)].is_empty();
        let everywhere = &self.everywhere[usize::from(seen)];
        let total: f64 = everywhere.values().sum();
        let own = self.by_line.get(&(line, seen)).filter(|_| line.is_some());
        everywhere
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

    /// A pole's groundline diameter when new, as far as it is known, and where that comes from: measured, else from its
    /// class, else from its top, else the list's median.
    pub fn diameter(
        &self,
        pole: &Pole,
        inspections: &[Inspection],
    ) -> (LikelyDiameter, DiameterOrigin) {
        if let Some(median) = pole.diameter.or_else(|| seen_diameter(inspections)) {
            return (
                LikelyDiameter { median, ln_sd: 0.0 },
                DiameterOrigin::Measured,
            );
        }
        let of_class = diameter_of_class(&self.sizes, pole);
        let of_top = || Some(self.sizes.diameter_of_top(pole.top_diameter?, pole.length?));
        let assumed = LikelyDiameter {
            median: self.usual_diameter,
            ln_sd: UNMEASURED_DIAMETER_LN_SD,
        };
        of_class
            .map(|likely| (likely, DiameterOrigin::ClassTable))
            .or_else(|| of_top().map(|likely| (likely, DiameterOrigin::TopDiameter)))
            .unwrap_or((assumed, DiameterOrigin::Assumed))
    }

    /// The strength required of a pole when new; `None` where its loading is not known, or is a moment and the strength
    /// of its species is not known.
    pub fn required(&self, pole: &Pole) -> Option<Required> {
        let timber = pole
            .species
            .and_then(|species| self.sizes.timber_of(species));
        Required::of(pole.loading?, timber.map(|timber| timber.strength))
    }

    /// Groundline diameters when new with their probabilities: one where it is measured or where nothing asks for it,
    /// a few where a limit in millimetres or a required moment does, more where readings do.
    pub fn diameters(&self, pole: &Pole, inspections: &[Inspection]) -> Vec<(Mm, f64)> {
        let (likely, origin) = self.diameter(pole, inspections);
        if origin == DiameterOrigin::Measured {
            return vec![(likely.median, 1.0)];
        }
        let at = |(z, weight): (f64, f64)| (Mm(likely.median.0 * exp(likely.ln_sd * z)), weight);
        let needs_it = inspections.iter().any(|visit| {
            visit.remaining_circumference.is_some()
                || !visit.pockets.is_empty()
                || visit.outside_decay_depth.is_some()
                || visit.sound_shell.is_some()
                || visit.least_sound_shell.is_some()
        });
        if needs_it {
            return normal_nodes().into_iter().map(at).collect();
        }
        if self.limits_in_mm || matches!(pole.loading, Some(Loading::Moment(_))) {
            return FEW_NODES.into_iter().map(at).collect();
        }
        vec![(likely.median, 1.0)]
    }
}

/// The diameter that a pole's class, length and species tell.
fn diameter_of_class(sizes: &Sizes, pole: &Pole) -> Option<LikelyDiameter> {
    sizes.diameter_of_class(pole.species, pole.size_class?, pole.length?)
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
    use crate::common::{inspected, inventory_of, pole_set, programme};
    use crate::pole::{Method, Verdict};
    use jiff::civil::date;

    #[test]
    fn an_undated_pole_is_as_old_as_those_that_were_looked_at_like_it() {
        // Rounds see the old poles of the line and pass the young ones by.
        let seen = inspected(date(2018, 5, 1), Method::SoundAndBore, Verdict::Sound);
        let undated = Pole {
            installed: None,
            ..pole_set(2000)
        };
        let inventory = inventory_of(vec![
            ("P-1", "L", pole_set(1960), vec![seen]),
            ("P-2", "L", pole_set(2015), Vec::new()),
            ("P-3", "L", undated, Vec::new()),
        ]);
        let models = crate::models::text::built_in().expect("built-in models");
        let missing = Missing::new(&inventory, &programme(), &models.sizes);
        let mean = |inspections: &[Inspection]| -> f64 {
            let ages = missing.ages(&undated, inspections).into_iter();
            let (sum, all) = ages.fold((0.0, 0.0), |sums, (age, weight)| {
                (sums.0 + age * weight, sums.1 + weight)
            });
            sum / all
        };
        // The plan is made for 2025: set in mid 1960 or in mid 2015.
        assert!((mean(&[]) - 9.5).abs() < 0.1, "{}", mean(&[]));
        assert!((mean(&[seen]) - 64.5).abs() < 0.1, "{}", mean(&[seen]));
    }

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
