//! The future: every trial lives through the schedule, pole by pole (model section 5).
//!
//! Trial `k` takes the calibration's joint draw `k`, its own wind years, and for each pole a draw from that pole's
//! posterior given the shift. [`mod@life`] tells what happens at one place, [`mod@leap`] the same faster; [`tally`] counts
//! it in integers.

pub mod draws;
pub mod leap;
pub mod life;
pub mod spending;
pub mod tally;

pub use life::Kind;
pub use spending::{Spending, Spent};
pub use tally::{Band, Demand, Forecast, Group, Size, Tally, YearForecast};

use crate::belief::{Beliefs, Scratch, replacement_cell};
use crate::chance::{Key, Purpose, Slot, open_unit};
use crate::inventory::Inventory;
use crate::models::Models;
use crate::parallel::{self, Watch};
use crate::pole::{Mode, NameIndex, PoleIndex, Status};
use crate::programme::Programme;
use crate::schedule::{Schedule, Visits};
use crate::units::Mm;
use crate::wood::Wood;
use crate::wood::strength::Required;
use draws::{BLOCK, PlaceDraws};
use leap::{leap, storms};
use life::{Circumstances, Event, World};
use std::collections::BTreeMap;
use std::ops::Range;

/// The strongest winds of every trial and plan year, by wind region: a district, or the whole network without any.
struct Winds {
    by_region: BTreeMap<Option<NameIndex>, Region>,
    years: usize,
}

/// The winds of one region, all years of the first trial, then of the second, and so on.
struct Region {
    /// Strongest wind of the year.
    winds: Vec<f64>,
    /// Strongest wind of the year and all later ones.
    storms: Vec<f64>,
}

impl Region {
    fn new(key: Key, beliefs: &Beliefs, programme: &Programme) -> Self {
        let years = programme.horizon_years;
        let winds: Vec<f64> = (0..programme.trials)
            .flat_map(|trial| (0..years).map(move |year| (trial, year)))
            .map(|(trial, year)| key.uniform(trial, Slot::new(Purpose::Wind, 0, year)))
            .map(|uniform| beliefs.hazard.strongest_wind(uniform))
            .collect();
        let storms = winds
            .chunks(usize::from(years).max(1))
            .flat_map(storms)
            .collect();
        Self { winds, storms }
    }
}

impl Winds {
    fn new(inventory: &Inventory, beliefs: &Beliefs, programme: &Programme) -> Self {
        let mut by_region = BTreeMap::new();
        for pole in inventory.poles() {
            by_region.entry(pole.district).or_insert_with(|| {
                let name = pole
                    .district
                    .map_or("", |district| inventory.names.get(district));
                let key = Key::of(programme.seed, &format!("wind over {name}"));
                Region::new(key, beliefs, programme)
            });
        }
        Self {
            by_region,
            years: usize::from(programme.horizon_years),
        }
    }

    /// Winds and storms of one trial.
    fn of(&self, region: Option<NameIndex>, trial: u32) -> (&[f64], &[f64]) {
        let start = trial as usize * self.years;
        let years = start..start + self.years;
        self.by_region.get(&region).map_or((&[], &[]), |region| {
            (&region.winds[years.clone()], &region.storms[years])
        })
    }
}

/// The draws on which inspections of the pole that stands now find decay or not, for a block of trials: of the years of
/// its visits so long as none of them finds any.
struct Finds {
    first: u16,
    step: u16,
    by_visit: Vec<[u32; BLOCK]>,
}

impl Finds {
    fn new(visits: &Visits, years: u16) -> Self {
        let step = visits.repeat_years.max(1);
        let first = visits.first.unwrap_or(years);
        let visits = (first..years).step_by(usize::from(step)).len();
        Self {
            first,
            step,
            by_visit: vec![[0; BLOCK]; visits],
        }
    }

    fn draw(&mut self, key: Key, trials: Range<u32>) {
        let years = (self.first..).step_by(usize::from(self.step));
        for (year, draws) in years.zip(&mut self.by_visit) {
            let slot = Slot::new(Purpose::Find, 0, year);
            key.bits_of_trials(trials.start, slot, &mut draws[..trials.len()]);
        }
    }

    /// The draw of the trial in this place of the block, where it was made beforehand.
    #[inline]
    fn at(&self, place: usize, slot: Slot) -> Option<f64> {
        if slot.purpose != Purpose::Find || slot.generation != 0 {
            return None;
        }
        let since = slot.visit.checked_sub(self.first)?;
        if since % self.step != 0 {
            return None;
        }
        let draws = self.by_visit.get(usize::from(since / self.step))?;
        Some(open_unit(draws[place]))
    }
}

/// Limits of one pole's possible sections in every plan year.
struct Limits {
    by_section: Vec<(Mm, [Vec<f64>; Mode::ALL.len()])>,
}

impl Limits {
    fn new(beliefs: &Beliefs, scratch: &Scratch, required: Option<Required>, years: u16) -> Self {
        let mut diameters: Vec<Mm> = scratch
            .grid
            .combinations
            .iter()
            .map(|row| row.diameter)
            .collect();
        diameters.dedup();
        let of = |mode, diameter| {
            let limit = |year| beliefs.limit(mode, diameter, required, f64::from(year));
            if beliefs.limits_change {
                (0..=years).map(limit).collect()
            } else {
                vec![limit(0); usize::from(years) + 1]
            }
        };
        Self {
            by_section: diameters
                .into_iter()
                .map(|diameter| (diameter, Mode::ALL.map(|mode| of(mode, diameter))))
                .collect(),
        }
    }

    fn of(&self, wood: &Wood, year: u16) -> f64 {
        self.by_section
            .iter()
            .find(|(diameter, _)| *diameter == wood.diameter)
            .map_or(f64::INFINITY, |(_, limits)| {
                limits[wood.mode.index()][usize::from(year)]
            })
    }
}

/// The tally of all trials of the programme.
pub fn trial(
    inventory: &Inventory,
    models: &Models,
    beliefs: &Beliefs,
    schedule: &Schedule,
    programme: &Programme,
) -> Tally {
    let watch = Watch::default();
    trial_watched(inventory, models, beliefs, schedule, programme, &watch)
}

/// The same, and `watch` counts the poles that are done.
pub fn trial_watched(
    inventory: &Inventory,
    models: &Models,
    beliefs: &Beliefs,
    schedule: &Schedule,
    programme: &Programme,
    watch: &Watch,
) -> Tally {
    let winds = Winds::new(inventory, beliefs, programme);
    let (groups, group_of) = tally::groups(inventory, programme);
    let treatment = models.remedies.agents.planned(&programme.policy);
    let world = World {
        policy: &programme.policy,
        treatment: &treatment,
        detection: &beliefs.detection,
        hazard: &beliefs.hazard,
        years: programme.horizon_years,
    };
    // A pole that the owner still lists as removed does not stand, whatever its records say.
    let stands = |pole: &PoleIndex| inventory.pole(*pole).status != Status::Removed;
    let poles: Vec<PoleIndex> = inventory.indices().filter(stands).collect();
    let empty = || (Tally::new(programme, groups.clone()), Scratch::default());
    let (tally, _) = parallel::total(
        &poles,
        empty,
        |(tally, scratch), pole| {
            beliefs.fill_grid(inventory, *pole, scratch);
            let facts = inventory.pole(*pole);
            let required = beliefs.missing().required(facts);
            let limits = Limits::new(beliefs, scratch, required, world.years);
            let new_slot = beliefs.slot_of_cell(replacement_cell(models, programme, facts));
            let other_demand = programme.hazards.other_demand;
            let own_world = world.of_hazard(beliefs.hazard_of(*pole));
            let mut draws = PlaceDraws::new(
                beliefs,
                inventory,
                *pole,
                scratch,
                programme.seed,
                new_slot,
                other_demand,
            );
            let visits = &schedule.visits[pole.get()];
            let mut finds = Finds::new(visits, world.years);
            let mut specimens = Vec::with_capacity(BLOCK);
            for start in (0..programme.trials).step_by(BLOCK) {
                let trials = start..programme.trials.min(start + BLOCK as u32);
                draws.firsts(trials.clone(), &mut specimens);
                finds.draw(draws.key, trials.clone());
                for (place, (number, first)) in trials.zip(&specimens).enumerate() {
                    let (winds, storms) = winds.of(facts.district, number);
                    let here = Circumstances {
                        first: *first,
                        upkeep: &scratch.grid.upkeep,
                        visits,
                        winds,
                        limit: &|wood, year| limits.of(wood, year),
                        next: &|generation, years| {
                            draws.next(number, generation, years, first.wood.diameter)
                        },
                        draw: &|slot| {
                            let made = finds.at(place, slot);
                            made.unwrap_or_else(|| draws.key.uniform(number, slot))
                        },
                    };
                    let own_world = own_world.seen_by(beliefs.detection_of_draw(number));
                    leap(&own_world, &here, storms, |years, event| {
                        if event == Event::Inspected {
                            tally.count_inspection(number, years.start, visits.method);
                        }
                        tally.count_years(number, years, event, group_of[pole.get()]);
                    });
                }
            }
            watch.done();
        },
        |one, other| (one.0.with(&other.0), one.1),
    );
    tally
}
