//! Invented networks of any size with their hidden truth: for tests of the estimate of condition, and to try the
//! program on.
//!
//! Lines are laid out (`landscape`), rounds set (`rounds`), every site lives through its past (`history`) by the
//! curves of the models, and what stands today is listed (`list`), with the faults of real lists where wanted
//! (`dirt`). Nothing here is a real place, owner or record. The estimate of condition must not know this module.

mod dice;
mod dirt;
mod history;
mod landscape;
mod list;
mod rounds;
mod stock;
#[cfg(test)]
mod tests;

pub use list::Files;

use crate::inventory::{Ended, Inventory, Names, Removal};
use crate::models::{CellIndex, Models};
use crate::pole::{Inspection, Pole, SetFrom, Status};
use crate::programme::{Limit, RejectRule};
use crate::units::{Date, Fraction, Mm, Zone, mid_year};
use crate::wood::{FailureHazard, Wood};
use dice::Dice;
use history::{Departed, Standing, World};
use landscape::{DISTRICTS, Line};
use std::collections::BTreeMap;

/// What to invent.
#[derive(Debug, Clone, PartialEq)]
pub struct Recipe {
    /// Sites: as many poles stand today.
    pub poles: usize,
    /// Seed of all draws.
    pub seed: u64,
    /// The day on which the list is drawn up: nothing later happens.
    pub today: Date,
    /// How much longer than published the owner's poles last, as a shift of the logarithm of life: all kinds.
    pub true_shift: f64,
    /// Further shifts of single kinds, by their ids.
    pub kind_shifts: BTreeMap<String, f64>,
    /// Spread of the soils between lines, on the logarithm of life.
    pub tau_area: f64,
    /// Metres over which soils resemble each other, more than 0; far less than a line for soils that have nothing in common.
    pub soil_range_metres: f64,
    /// Spread of the batches between stretches, on the logarithm of life.
    pub tau_batch: f64,
    /// Share of poles whose decay is hidden from all but full excavation; the models' own when not given.
    pub hidden_share: Option<f64>,
    /// Reject limits, past and present.
    pub rejects: Vec<RejectRule>,
    /// Mean years from a reject verdict to the removal of the pole from the list.
    pub mean_years_to_removal: f64,
    /// Share of rejects that are reinforced and stay in the list.
    pub reinforced_share: f64,
    /// Years for which a reinforcement holds the groundline.
    pub reinforcement_years: f64,
    /// Yearly share of poles replaced for reasons that have nothing to do with decay.
    pub other_removals_per_year: f64,
    /// Design wind moment over the mean capacity of a new pole.
    pub use_of_capacity: f64,
    /// Coefficient of variation of pole strength.
    pub strength_cov: f64,
    /// Year in which rounds began.
    pub first_round_year: i16,
    /// Years between rounds of a line (least, most).
    pub cycle_years: (f64, f64),
    /// Age below which rounds pass a pole by.
    pub first_inspection_age: f64,
    /// Share of poles that a round cannot reach, whatever their wood.
    pub missed_share: f64,
    /// Share of poles whose year of setting is not recorded.
    pub unknown_install: f64,
    /// Share of poles whose species or preservative is not recorded.
    pub unknown_kind: f64,
    /// Share of poles whose groundline diameter when new is recorded.
    pub measured_diameter: f64,
    /// Share of replaced poles whose list entry kept the year of setting of the pole before.
    pub predecessor_year_share: f64,
    /// First year of which all poles that went are listed as removed, with their records; `None` where none are.
    pub removed_listed_since: Option<i16>,
    /// Whether the files have the faults of real lists.
    pub dirt: bool,
}

impl Default for Recipe {
    fn default() -> Self {
        Self {
            poles: 2000,
            seed: 1,
            today: Date::constant(2026, 1, 1),
            true_shift: 0.0,
            kind_shifts: BTreeMap::new(),
            tau_area: 0.15,
            soil_range_metres: 2500.0,
            tau_batch: 0.05,
            hidden_share: None,
            rejects: vec![RejectRule {
                limit: Limit::Strength(Fraction::clamped(2.0 / 3.0)),
                from: None,
            }],
            mean_years_to_removal: 0.8,
            reinforced_share: 0.0,
            reinforcement_years: 20.0,
            other_removals_per_year: 0.003,
            use_of_capacity: 0.35,
            strength_cov: 0.2,
            first_round_year: 1978,
            cycle_years: (9.0, 11.0),
            first_inspection_age: 8.0,
            missed_share: 0.05,
            unknown_install: 0.08,
            unknown_kind: 0.03,
            measured_diameter: 0.6,
            predecessor_year_share: 0.0,
            removed_listed_since: None,
            dirt: false,
        }
    }
}

impl Recipe {
    /// The network of the command line and of `data-demo`: an owner whose poles last longer than published, so that
    /// there is something to learn from the findings.
    pub fn demo(poles: usize, seed: u64, dirt: bool) -> Self {
        Self {
            poles,
            seed,
            true_shift: 0.25,
            dirt,
            ..Self::default()
        }
    }

    /// Whether a pole that went on this day is listed as removed.
    fn lists_removed_on(&self, ended: Date) -> bool {
        self.removed_listed_since
            .is_some_and(|since| ended.year() >= since)
    }

    /// The true shift of a kind.
    fn shift_of(&self, kind: &str) -> f64 {
        self.true_shift + self.kind_shifts.get(kind).copied().unwrap_or(0.0)
    }
}

/// What is true of one pole that stands today, and nobody knows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Truth {
    /// The curve cell that its life was drawn from.
    pub cell: CellIndex,
    /// Life, protected share, mode and groundline diameter.
    pub wood: Wood,
    /// Whether it is one of the early failures.
    pub early: bool,
    /// Strength over the mean of new poles.
    pub strength_ratio: f64,
    /// Whether its decay is hidden from all but full excavation.
    pub hidden: bool,
    /// Shift of its kind.
    pub shift: f64,
    /// Shift of its line's soil.
    pub soil_shift: f64,
    /// Shift of its batch.
    pub batch_shift: f64,
    /// Day of setting.
    pub installed: Date,
    /// Decay progress today.
    pub progress: f64,
    /// Progress at its limit today.
    pub limit: f64,
    /// Whether it is below the limit today.
    pub below_limit: bool,
}

/// An invented network.
#[derive(Debug, Clone)]
pub struct Invented {
    /// What the owner's clean list and records would say.
    pub inventory: Inventory,
    /// What is true, by [`PoleIndex`](crate::pole::PoleIndex).
    pub truth: Vec<Truth>,
    /// Poles ever set.
    pub built: usize,
    /// Poles that are gone and not listed.
    pub removed: usize,
    /// The same as text files, with dirt where wanted, and a programme that reads them.
    pub files: Files,
}

/// An invented network by a recipe, its wood living by the curves of `models`.
pub fn invent(recipe: &Recipe, models: &Models) -> Invented {
    let mut detection = models.detection;
    detection.hidden_share = recipe.hidden_share.unwrap_or(detection.hidden_share);
    let world = World {
        recipe,
        models,
        hazard: FailureHazard::new(recipe.use_of_capacity, recipe.strength_cov),
        detection,
    };
    let mut names = Names::default();
    let mut entries = Vec::new();
    let mut gone = Vec::new();
    let mut removed = 0;
    for (number, line) in landscape::lines(recipe).into_iter().enumerate() {
        let rounds = rounds::rounds(recipe, &line, number, &mut names);
        for site in 0..line.sites.len() {
            let (standing, departed) = history::live(&world, &line, &rounds, site);
            removed += standing.generation as usize;
            gone.extend(
                departed
                    .into_iter()
                    .filter(|old| recipe.lists_removed_on(old.ended))
                    .map(|old| removal(recipe, &line, site, old, &mut names)),
            );
            entries.push(entry(recipe, &line, site, standing, &mut names));
        }
    }
    entries.sort_by(|a, b| a.0.0.cmp(&b.0.0));
    let (records, truth): (Vec<_>, Vec<_>) = entries.into_iter().unzip();
    let inventory = Inventory::new(&names, records).with_removed(&names, gone);
    let (mut poles, mut inspections) = list::rows(&inventory);
    if recipe.dirt {
        dirt::spoil(recipe.seed, &mut poles, &mut inspections);
    }
    Invented {
        files: list::files(recipe, (poles, inspections), &inventory, &truth, models),
        built: inventory.len() + removed,
        removed,
        inventory,
        truth,
    }
}

/// A pole that is gone as the owner lists it.
fn removal(
    recipe: &Recipe,
    line: &Line,
    site: usize,
    departed: Departed,
    names: &mut Names,
) -> Removal {
    let Departed { pole, ended, cause } = departed;
    let ((id, pole, inspections), _) = entry(recipe, line, site, pole, names);
    Removal {
        id,
        pole: Pole {
            status: Status::Removed,
            removed: Some(ended),
            ..pole
        },
        ended,
        because: Ended::Removed,
        cause,
        inspections,
    }
}

type Entry = ((String, Pole, Vec<Inspection>), Truth);

/// A standing pole as the owner lists it.
fn entry(
    recipe: &Recipe,
    line: &Line,
    site: usize,
    standing: Standing,
    names: &mut Names,
) -> Entry {
    let district = &DISTRICTS[line.district];
    let id = match standing.generation {
        0 => format!("{}.{:03}", line.name, site + 1),
        later => format!("{}.{:03}-{}", line.name, site + 1, later + 1),
    };
    let mut dice = Dice::of(recipe.seed, &format!("list {id}"));
    let mut known = |share: f64| !dice.chance(share);
    let stock = standing.stock;
    let year = standing
        .predecessors_year
        .unwrap_or_else(|| standing.truth.installed.year());
    let pole = Pole {
        line: Some(names.keep(&line.name)),
        sequence: Some(site as i32 + 1),
        district: Some(names.keep(district.name)),
        place: Some(line.sites[site].place),
        zone: Zone::new(district.zone).unwrap_or(Zone::ALL[0]),
        zone_is_default: false,
        status: Status::InService,
        removed: None,
        length: Some(Mm(1000.0 * stock.length_m)),
        class: Some(names.keep(&stock.class.to_string())),
        size_class: None,
        top_diameter: None,
        loading: None,
        diameter: known(1.0 - recipe.measured_diameter)
            .then(|| Mm(standing.truth.wood.diameter.0.round())),
        species: known(recipe.unknown_kind).then_some(stock.species),
        preservative: known(recipe.unknown_kind).then_some(stock.preservative),
        through_bored: stock.through_bored,
        installed: known(recipe.unknown_install).then(|| mid_year(year)),
        set_from: SetFrom::Record,
        reinforced: standing.reinforced,
        consequence: Some(line.stretches[line.sites[site].stretch].consequence),
        has_problems: false,
        material_unknown: false,
        also: None,
        source: crate::problem::Source::default(),
    };
    ((id, pole, standing.inspections), standing.truth)
}
