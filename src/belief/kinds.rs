//! Poles of unknown species or preservative as mixtures of curves (model section 6): never one guessed kind.
//!
//! The shares are those of the recorded poles of the same line, then of the inventory, as far as they fit what is known
//! of the pole; few recorded poles leave room for the generic curve. Shares are among *listed* poles, so a kind that the
//! list has already lost much of does not count that loss twice (`PoleGrid::scales`).
//!
//! A mixture's inspections update its own condition, kinds included, and do not shift the curves: which curve they speak
//! of is part of what is unknown, and leaving some poles out of the learning biases nothing, it only learns from fewer.

use crate::inventory::Inventory;
use crate::models::{CellIndex, Models};
use crate::pole::{NameIndex, Pole, Preservative, Species, Status};
use crate::units::Zone;
use std::collections::BTreeMap;

/// Weight of the whole inventory's kinds beside those of the pole's own line, in poles (proposed, as for set years).
const INVENTORY_WEIGHT: f64 = 5.0;

/// Weight of the generic curve beside the recorded poles that fit, in poles (proposed): a handful of records says little
/// of what the others are.
const GENERIC_WEIGHT: f64 = 5.0;

/// Smallest share that a mixture keeps, and most curves in it: what is left out is shared among the kept, and time stays
/// bounded.
const LEAST_SHARE: f64 = 0.05;
const MOST_CURVES: usize = 4;

/// Species, preservative and whether through-bored.
type Kind = (Species, Preservative, bool);

/// What the recorded poles say about the unrecorded ones.
#[derive(Debug, Clone, Default)]
pub struct Kinds {
    by_line: BTreeMap<Option<NameIndex>, BTreeMap<Kind, f64>>,
    everywhere: BTreeMap<Kind, f64>,
}

impl Kinds {
    /// Gathers the recorded kinds.
    pub fn new(inventory: &Inventory) -> Self {
        let mut kinds = Self::default();
        for pole in inventory.poles() {
            if let (Some(species), Some(preservative), true) = (
                pole.species,
                pole.preservative,
                pole.status != Status::Removed,
            ) {
                let kind = (species, preservative, pole.through_bored.unwrap_or(false));
                let line = kinds.by_line.entry(pole.line).or_default();
                *line.entry(kind).or_default() += 1.0;
                *kinds.everywhere.entry(kind).or_default() += 1.0;
            }
        }
        kinds
    }

    /// The curves that a pole may follow with their shares, which sum to one, in the order of cells.
    pub fn of(&self, models: &Models, pole: &Pole) -> Vec<(CellIndex, f64)> {
        if pole.species.is_some() && pole.preservative.is_some() {
            let cell = models.cell_for(
                pole.species,
                pole.preservative,
                pole.through_bored,
                pole.zone,
            );
            return vec![(cell, 1.0)];
        }
        let mut shares: BTreeMap<CellIndex, f64> = BTreeMap::new();
        let fitting: Vec<(&Kind, f64)> = self
            .everywhere
            .iter()
            .filter(|(kind, _)| fits(pole, **kind))
            .map(|(kind, count)| (kind, *count))
            .collect();
        let count: f64 = fitting.iter().map(|(_, count)| count).sum();
        let own = self.by_line.get(&pole.line).filter(|_| pole.line.is_some());
        let here = |kind: &Kind| own.and_then(|own| own.get(kind)).copied().unwrap_or(0.0);
        let weights: Vec<f64> = fitting
            .iter()
            .map(|(kind, everywhere)| here(kind) + INVENTORY_WEIGHT * everywhere / count)
            .collect();
        let total: f64 = weights.iter().sum();
        let doubt = GENERIC_WEIGHT / (GENERIC_WEIGHT + count);
        for ((kind, _), weight) in fitting.iter().zip(&weights) {
            let (species, preservative, bored) = **kind;
            let cell = models.cell_for(Some(species), Some(preservative), Some(bored), pole.zone);
            *shares.entry(cell).or_default() += (1.0 - doubt) * weight / total;
        }
        let unrecorded = without_records(models, pole, pole.zone);
        for cell in &unrecorded {
            *shares.entry(*cell).or_default() += doubt / unrecorded.len() as f64;
        }
        kept(shares)
    }
}

/// Whether a kind is one that the pole may be of.
fn fits(pole: &Pole, (species, preservative, bored): Kind) -> bool {
    pole.species.is_none_or(|known| known == species)
        && pole.preservative.is_none_or(|known| known == preservative)
        && pole.through_bored.is_none_or(|known| known == bored)
}

/// What a pole may be when no record helps: the generic curve, which is one of treated wood, and for a pole known to be
/// untreated every untreated curve alike.
fn without_records(models: &Models, pole: &Pole, zone: Zone) -> Vec<CellIndex> {
    let generic = models.cell_for(None, None, None, zone);
    if pole.preservative != Some(Preservative::Untreated) {
        return vec![generic];
    }
    let untreated: Vec<CellIndex> = models
        .kinds
        .iter()
        .filter(|kind| kind.preservatives.contains(&Preservative::Untreated))
        .filter_map(|kind| kind.species.first())
        .map(|species| models.cell_for(Some(*species), pole.preservative, None, zone))
        .collect();
    if untreated.is_empty() {
        vec![generic]
    } else {
        untreated
    }
}

/// The largest shares, made to sum to one; of equal ones the first in the order of cells.
fn kept(shares: BTreeMap<CellIndex, f64>) -> Vec<(CellIndex, f64)> {
    let mut all: Vec<(CellIndex, f64)> = shares.into_iter().collect();
    all.sort_by(|one, other| other.1.total_cmp(&one.1).then(one.0.cmp(&other.0)));
    // The largest is always kept: however many curves there are, something is left.
    let mut place = 0;
    all.retain(|(_, share)| {
        place += 1;
        place == 1 || (place <= MOST_CURVES && *share >= LEAST_SHARE)
    });
    let total: f64 = all.iter().map(|(_, share)| share).sum();
    for (_, share) in &mut all {
        *share /= total;
    }
    all.sort_by_key(|(cell, _)| *cell);
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::common::{inventory_of, pole_set};
    use crate::models::text::built_in;

    fn of(species: Option<Species>, preservative: Option<Preservative>) -> Pole {
        Pole {
            species,
            preservative,
            ..pole_set(1980)
        }
    }

    /// Shares by kind of a pole on the line "L", among `known` poles (line, species, preservative, how many).
    fn shares(known: &[(&str, Species, Preservative, usize)], asked: Pole) -> Vec<(String, f64)> {
        let models = built_in().expect("valid models");
        let mut poles = vec![("asked".to_owned(), "L", asked)];
        for (line, species, preservative, count) in known {
            for number in 0..*count {
                let id = format!("{line} {species:?} {preservative:?} {number}");
                poles.push((id, *line, of(Some(*species), Some(*preservative))));
            }
        }
        let listed = poles
            .iter()
            .map(|(id, line, pole)| (id.as_str(), *line, *pole, Vec::new()));
        let inventory = inventory_of(listed.collect());
        let asked = inventory
            .indices()
            .find(|pole| inventory.id(*pole) == "asked")
            .expect("the pole");
        Kinds::new(&inventory)
            .of(&models, inventory.pole(asked))
            .into_iter()
            .map(|(cell, share)| (models.kind(cell).id.clone(), share))
            .collect()
    }

    const PINE: (&str, Species, Preservative, usize) =
        ("L", Species::Pine, Preservative::Creosote, 60);
    const FIR: (&str, Species, Preservative, usize) = (
        "M",
        Species::DouglasFir,
        Preservative::Pentachlorophenol,
        35,
    );

    #[test]
    fn shares_lean_on_the_line_and_then_on_the_inventory() {
        // 60 here + 5 x 60 / 95 against 5 x 35 / 95 of 65, times 95 of 100: 0.9231 and 0.0269, which is too little to
        // keep; 0.05 for the generic curve: 0.9231 / 0.9731.
        let all = shares(&[PINE, FIR], of(None, None));
        assert_eq!(all.len(), 2);
        assert!(
            all[0].0 == "pine-creosote" && (all[0].1 - 0.948_62).abs() < 1e-5,
            "{all:?}"
        );
        // None on the line: 60 and 35 of 95, and 5 of 100 for the generic curve.
        let elsewhere = [("M", PINE.1, PINE.2, 60), FIR];
        let all = shares(&elsewhere, of(None, None));
        let share = |id: &str| all.iter().find(|(kind, _)| kind == id).map(|(_, s)| *s);
        for (id, expected) in [
            ("pine-creosote", 0.60),
            ("douglas-fir", 0.35),
            ("unknown", 0.05),
        ] {
            let found = share(id).expect(id);
            assert!((found - expected).abs() < 1e-9, "{id}: {found}");
        }
    }

    #[test]
    fn what_is_known_is_kept_and_few_records_prove_little() {
        // Only the fir can be pentachlorophenol here: 35 of 40 with the generic curve's 5.
        let all = shares(
            &[PINE, FIR],
            of(None, Some(Preservative::Pentachlorophenol)),
        );
        assert_eq!(all.len(), 2);
        assert!((all[0].1 - 0.875).abs() < 1e-9, "{all:?}");
        let one = [("L", PINE.1, PINE.2, 1)];
        let generic = shares(&one, of(None, None));
        assert!((generic[1].1 - 5.0 / 6.0).abs() < 1e-9, "{generic:?}");
        assert_eq!(shares(&[], of(None, None)), [("unknown".to_owned(), 1.0)]);
    }

    #[test]
    fn an_untreated_pole_of_unknown_species_takes_only_untreated_curves() {
        for known in [&[][..], &[PINE, FIR][..]] {
            let all = shares(known, of(None, Some(Preservative::Untreated)));
            assert!(
                all.iter().all(|(kind, _)| kind.contains("untreated")),
                "{all:?}"
            );
            assert!((all.iter().map(|(_, share)| share).sum::<f64>() - 1.0).abs() < 1e-9);
            assert!(all.len() > 1);
        }
    }
}
