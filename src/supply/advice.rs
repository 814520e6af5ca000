//! What to put back where a pole comes out: kinds of pole by their cost a year in one decay zone.
//!
//! Equivalent annual cost of a pole that lives `n` years at the discount rate `r`: `K r / (1 - (1 + r)^-n)` (model section
//! 7), with the owner's median life where inspections taught one, the published otherwise; its interval carries over.
//! Advice and no decision: never a smaller class, and what is allowed is for the owner to say.

use crate::belief::Beliefs;
use crate::inventory::Inventory;
use crate::maths::{exp, normal_quantile, pow};
use crate::models::{CellIndex, Models};
use crate::pole::{Preservative, Species, Status};
use crate::programme::Programme;
use crate::units::Zone;
use std::collections::BTreeMap;

/// Kinds of the list that are compared where the programme names none.
const MOST_KINDS: usize = 6;

/// Share of the poles of known kind below which a kind of the list is not compared.
const LEAST_SHARE: f64 = 0.02;

/// One kind of pole in one zone.
#[derive(Debug, Clone, PartialEq)]
pub struct Choice {
    /// Species.
    pub species: Species,
    /// Preservative.
    pub preservative: Preservative,
    /// Its curve.
    pub cell: CellIndex,
    /// Median life: 5 %, 50 % and 95 %, years.
    pub median_years: [f64; 3],
    /// Whether the owner's inspections had a part in it.
    pub learned: bool,
    /// One planned replacement.
    pub replacement: f64,
    /// Cost a year: at the long end of the median's interval, at the median, at the short end.
    pub yearly: [f64; 3],
    /// By what it is allowed, when the programme says.
    pub allowed_by: Option<String>,
}

/// What to put back in one zone.
#[derive(Debug, Clone, PartialEq)]
pub struct ZoneAdvice {
    /// The zone.
    pub zone: Zone,
    /// Poles that stand there.
    pub poles: usize,
    /// Kinds, the cheapest a year first.
    pub choices: Vec<Choice>,
}

impl ZoneAdvice {
    /// Whether the first choice is clearly cheaper than the second: their intervals do not meet.
    pub fn is_clear(&self) -> bool {
        match self.choices.as_slice() {
            [best, next, ..] => best.yearly[2] < next.yearly[0],
            _ => false,
        }
    }
}

/// Advice for every zone in which poles stand, and whether the programme named what may be put back.
pub fn advice(
    inventory: &Inventory,
    models: &Models,
    programme: &Programme,
    beliefs: &Beliefs,
) -> Vec<ZoneAdvice> {
    let mut zones: BTreeMap<Zone, usize> = BTreeMap::new();
    for pole in standing(inventory) {
        *zones.entry(pole.zone).or_default() += 1;
    }
    let kinds = kinds(inventory, programme);
    zones
        .into_iter()
        .map(|(zone, poles)| {
            let mut choices: Vec<Choice> = kinds
                .iter()
                .map(|kind| kind.in_zone(zone, models, programme, beliefs))
                .collect();
            choices.sort_by(|one, other| one.yearly[1].total_cmp(&other.yearly[1]));
            ZoneAdvice {
                zone,
                poles,
                choices,
            }
        })
        .filter(|own| !own.choices.is_empty())
        .collect()
}

fn standing(inventory: &Inventory) -> impl Iterator<Item = &crate::pole::Pole> {
    let poles = inventory.poles().iter();
    poles.filter(|pole| pole.status != Status::Removed)
}

/// A kind to compare.
struct Kind {
    species: Species,
    preservative: Preservative,
    replacement: f64,
    allowed_by: Option<String>,
}

/// What the programme names, or the kinds that the list has most of.
fn kinds(inventory: &Inventory, programme: &Programme) -> Vec<Kind> {
    let usual = programme.costs.replacement;
    if !programme.supply.put_back.is_empty() {
        let named = programme.supply.put_back.iter().map(|own| Kind {
            species: own.species,
            preservative: own.preservative,
            replacement: own.replacement.unwrap_or(usual),
            allowed_by: own.allowed_by.clone(),
        });
        return named.collect();
    }
    let mut counts: BTreeMap<(Species, Preservative), usize> = BTreeMap::new();
    for pole in standing(inventory) {
        if let (Some(species), Some(preservative)) = (pole.species, pole.preservative) {
            *counts.entry((species, preservative)).or_default() += 1;
        }
    }
    let all: usize = counts.values().sum();
    let mut counts: Vec<_> = counts.into_iter().collect();
    counts.sort_by(|one, other| other.1.cmp(&one.1).then(one.0.cmp(&other.0)));
    counts
        .into_iter()
        .filter(|(_, count)| *count as f64 >= LEAST_SHARE * all as f64)
        .take(MOST_KINDS)
        .map(|((species, preservative), _)| Kind {
            species,
            preservative,
            replacement: usual,
            allowed_by: None,
        })
        .collect()
}

impl Kind {
    fn in_zone(
        &self,
        zone: Zone,
        models: &Models,
        programme: &Programme,
        beliefs: &Beliefs,
    ) -> Choice {
        let cell = models.cell_for(Some(self.species), Some(self.preservative), None, zone);
        let mut known = beliefs.calibration.cells.iter();
        let own = known.find(|own| own.cell == cell && !own.pinned);
        let median_years = own.map_or_else(|| published(models, cell), |own| own.owners);
        let rate = programme.costs.discount_rate;
        let yearly = |years: f64| a_year(self.replacement, years, rate);
        let [short, middle, long] = median_years;
        Choice {
            species: self.species,
            preservative: self.preservative,
            cell,
            median_years,
            learned: own.is_some_and(|own| own.findings > 0),
            replacement: self.replacement,
            yearly: [yearly(long), yearly(middle), yearly(short)],
            allowed_by: self.allowed_by.clone(),
        }
    }
}

/// The published median with its 90 % interval between fleets.
fn published(models: &Models, cell: CellIndex) -> [f64; 3] {
    let own = models.cell(cell);
    let median = own.life.main.quantile(0.5);
    [0.05, 0.5, 0.95].map(|p| median * exp(own.between_fleets_ln_sd * normal_quantile(p)))
}

/// The equivalent annual cost of something that costs `price` and lasts so many years.
fn a_year(price: f64, years: f64, rate: f64) -> f64 {
    if rate <= 0.0 {
        return price / years;
    }
    price * rate / (1.0 - pow(1.0 + rate, -years))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::common::{inventory_of, pole_set, programme};
    use crate::programme::supply::PutBack;

    #[test]
    fn the_cost_of_a_year_is_the_annuity() {
        // 8,000 over 40 years at 5 %: 8,000 x 0.05 / (1 - 1.05^-40) = 400 / (1 - 0.142046) = 466.23.
        assert!((a_year(8_000.0, 40.0, 0.05) - 466.23).abs() < 0.01);
        assert!((a_year(8_000.0, 40.0, 0.0) - 200.0).abs() < 1e-9);
    }

    #[test]
    fn what_may_be_put_back_is_compared_in_every_zone_with_its_own_price() {
        let models = crate::models::text::built_in().expect("valid models");
        let mut programme = programme();
        let kind = |preservative, replacement| PutBack {
            species: Species::Pine,
            preservative,
            replacement,
            allowed_by: Some("a decree".to_owned()),
        };
        programme.supply.put_back = vec![
            kind(Preservative::Creosote, Some(1.0e6)),
            kind(Preservative::Cca, None),
        ];
        let inventory = inventory_of(vec![("A", "L", pole_set(1990), Vec::new())]);
        let beliefs = crate::belief::believe(&inventory, &models, &programme);
        let found = advice(&inventory, &models, &programme, &beliefs);
        assert_eq!((found.len(), found[0].poles), (1, 1));
        let best = &found[0].choices[0];
        assert_eq!(best.preservative, Preservative::Cca);
        assert!(found[0].is_clear() && !best.learned);
        // The median of `models/pine-cca.toml` in zone 3, whatever it is, and the annuity of it.
        let expected = published(&models, best.cell)[1];
        assert!((best.median_years[1] - expected).abs() < 1e-9);
        assert!((best.yearly[1] - a_year(8_000.0, expected, 0.04)).abs() < 1e-9);
        assert!(best.yearly[0] < best.yearly[1] && best.yearly[1] < best.yearly[2]);
    }

    #[test]
    fn without_a_word_of_the_owners_the_kinds_of_the_list_are_compared() {
        let models = crate::models::text::built_in().expect("valid models");
        let pole = crate::pole::Pole {
            species: Some(Species::Pine),
            preservative: Some(Preservative::Creosote),
            ..pole_set(1990)
        };
        let inventory = inventory_of(vec![
            ("A", "L", pole, Vec::new()),
            ("B", "L", pole_set(1990), Vec::new()),
        ]);
        let beliefs = crate::belief::believe(&inventory, &models, &programme());
        let found = advice(&inventory, &models, &programme(), &beliefs);
        assert_eq!((found[0].poles, found[0].choices.len()), (2, 1));
        assert!(!found[0].is_clear());
    }
}
