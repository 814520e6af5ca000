//! The future: every trial lives through the schedule, pole by pole (model section 5).
//!
//! Trial `k` takes the calibration's joint draw `k`, its own wind years, and for each pole a draw from that pole's
//! posterior given the shift. [`mod@life`] tells what happens at one place; [`tally`] counts it in integers.

pub mod draws;
pub mod life;
pub mod spending;
pub mod tally;

pub use life::Kind;
pub use spending::{Spending, Spent};
pub use tally::{Band, Demand, Forecast, Group, Size, Tally, YearForecast};

use crate::belief::{Beliefs, Scratch, replacement_cell};
use crate::chance::{Key, Purpose, Slot};
use crate::inventory::Inventory;
use crate::models::Models;
use crate::parallel;
use crate::pole::{Mode, NameIndex, PoleIndex, Status};
use crate::programme::Programme;
use crate::schedule::Schedule;
use crate::units::Mm;
use crate::wood::Wood;
use crate::wood::strength::Required;
use draws::PlaceDraws;
use life::{Circumstances, Event, World, life};
use std::collections::BTreeMap;

/// The strongest winds of every trial and plan year, by wind region: a district, or the whole network without any.
struct Winds {
    by_region: BTreeMap<Option<NameIndex>, Vec<f64>>,
    years: usize,
}

impl Winds {
    fn new(inventory: &Inventory, beliefs: &Beliefs, programme: &Programme) -> Self {
        let years = programme.horizon_years;
        let mut by_region = BTreeMap::new();
        for pole in inventory.poles() {
            by_region.entry(pole.district).or_insert_with(|| {
                let name = pole
                    .district
                    .map_or("", |district| inventory.names.get(district));
                let key = Key::of(programme.seed, &format!("wind over {name}"));
                (0..programme.trials)
                    .flat_map(|trial| (0..years).map(move |year| (trial, year)))
                    .map(|(trial, year)| {
                        beliefs
                            .hazard
                            .strongest_wind(key.uniform(trial, Slot::new(Purpose::Wind, 0, year)))
                    })
                    .collect()
            });
        }
        Self {
            by_region,
            years: usize::from(years),
        }
    }

    fn of(&self, region: Option<NameIndex>, trial: u32) -> &[f64] {
        let start = trial as usize * self.years;
        self.by_region
            .get(&region)
            .map_or(&[], |winds| &winds[start..start + self.years])
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
            (0..=years)
                .map(|year| beliefs.limit(mode, diameter, required, f64::from(year)))
                .collect()
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
            for number in 0..programme.trials {
                let first = draws.first(number);
                let here = Circumstances {
                    first,
                    upkeep: &scratch.grid.upkeep,
                    visits: &schedule.visits[pole.get()],
                    winds: winds.of(facts.district, number),
                    limit: &|wood, year| limits.of(wood, year),
                    next: &|generation, years| {
                        draws.next(number, generation, years, first.wood.diameter)
                    },
                    draw: &|slot| draws.key.uniform(number, slot),
                };
                life(&own_world, &here, |year, event| {
                    tally.count(number, year, event, group_of[pole.get()]);
                    if event == Event::Inspected {
                        tally.count_inspection(number, year, here.visits.method);
                    }
                });
            }
        },
        |one, other| (one.0.with(&other.0), one.1),
    );
    tally
}
