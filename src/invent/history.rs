//! The past of one invented site: poles decay, are inspected, condemned, blown over and replaced until today.
//!
//! Lives follow model sections 1, 2 and 5 to the letter: the curves that are drawn from here are the curves that the
//! estimate of condition assumes. Only what stands at the end is listed; what was removed is counted.

use super::dice::Dice;
use super::landscape::{DISTRICTS, Line};
use super::rounds::Round;
use super::stock::{Stock, bought};
use super::{Recipe, Truth};
use crate::chance::{Key, Purpose, Slot};
use crate::maths::exp;
use crate::models::{Cell, CellIndex, Models};
use crate::pole::{Inspection, Method, Mode, Reinforcement, RemovalCause, SeenMode, Verdict};
use crate::units::{Date, Mm, Zone, date_after, years_between};
use crate::wood::progress::PROTECTED_RANGE;
use crate::wood::section::{progress_per_mm, remaining_strength_at};
use crate::wood::strength::limit_progress;
use crate::wood::{Detection, FailureHazard, Wood};

/// What all sites of a network share.
pub(super) struct World<'a> {
    /// The recipe.
    pub recipe: &'a Recipe,
    /// The curves.
    pub models: &'a Models,
    /// Failure in wind.
    pub hazard: FailureHazard,
    /// Detection with the recipe's hidden share.
    pub detection: Detection,
}

/// The pole that stands at a site.
#[derive(Debug, Clone)]
pub(super) struct Standing {
    /// What was bought.
    pub stock: Stock,
    /// How many poles stood here before.
    pub generation: u32,
    /// What nobody knows.
    pub truth: Truth,
    /// What was found.
    pub inspections: Vec<Inspection>,
    /// When a condemned pole will be gone.
    pub gone_by: Option<Date>,
    /// When it was reinforced.
    pub reinforced: Option<Reinforcement>,
    /// The year of setting of the pole before it, where the list kept that.
    pub predecessors_year: Option<i16>,
}

impl Standing {
    /// Whether a reinforcement holds the groundline on a day.
    fn is_braced(&self, recipe: &Recipe, day: Date) -> bool {
        let since = self.reinforced.and_then(|brace| brace.since);
        since.is_some_and(|since| {
            (since..date_after(since, recipe.reinforcement_years)).contains(&day)
        })
    }
}

/// A pole that stood at a site and is gone.
#[derive(Debug, Clone)]
pub(super) struct Departed {
    /// The pole as it was.
    pub pole: Standing,
    /// When it went.
    pub ended: Date,
    /// Why.
    pub cause: RemovalCause,
}

/// Scatter of groundline diameters around their size's mean (model section 2).
const DIAMETER_LN_SD: f64 = 0.05;
/// How far beyond the limit, in progress, an invented inspector calls danger.
const DANGER_BEYOND: f64 = 0.45;
/// How far beyond the limit, in progress, an invented inspector still thinks of a brace.
const BRACE_WITHIN: f64 = 0.2;

enum Event<'r> {
    Storm,
    OtherWork,
    Visit(&'r Round),
}

/// The pole that stands today at a site of a line, having lived through storms and rounds, and those before it.
pub(super) fn live(
    world: &World,
    line: &Line,
    rounds: &[Round],
    site: usize,
) -> (Standing, Vec<Departed>) {
    let mut departed = Vec::new();
    let mut give_way = |pole: &mut Standing, ended: Date, cause: RemovalCause, dice: &mut Dice| {
        let new = replacement(world, line, pole, ended, dice);
        departed.push(Departed {
            pole: std::mem::replace(pole, new),
            ended,
            cause,
        });
    };
    let recipe = world.recipe;
    let mut dice = Dice::of(recipe.seed, &format!("site {} {site}", line.name));
    let stretch = &line.stretches[line.sites[site].stretch];
    let mut pole = set(
        world,
        line,
        stretch.stock,
        stretch.batch_shift,
        day_of(stretch.year, dice.unit()),
        &mut dice,
    );
    for year in stretch.year..=recipe.today.year() {
        for (date, event) in events(world, line, rounds, site, year, &mut dice) {
            if date >= recipe.today {
                break;
            }
            if let Some(gone) = pole.gone_by.filter(|gone| *gone <= date) {
                give_way(&mut pole, gone, RemovalCause::Condemned, &mut dice);
            }
            if date < pole.truth.installed {
                continue;
            }
            match event {
                Event::Storm if blown_over(world, line, &pole, date) => {
                    give_way(&mut pole, date, RemovalCause::Failed, &mut dice);
                }
                Event::OtherWork => give_way(&mut pole, date, RemovalCause::Other, &mut dice),
                Event::Visit(round) => visit(world, &mut pole, round, date, &mut dice),
                Event::Storm => {}
            }
        }
    }
    if let Some(gone) = pole.gone_by.filter(|gone| *gone < recipe.today) {
        give_way(&mut pole, gone, RemovalCause::Condemned, &mut dice);
    }
    look_today(recipe, &mut pole);
    (pole, departed)
}

fn events<'r>(
    world: &World,
    line: &Line,
    rounds: &'r [Round],
    site: usize,
    year: i16,
    dice: &mut Dice,
) -> Vec<(Date, Event<'r>)> {
    let storm = wind_draw(world, line, year, 1);
    let mut events = vec![(day_of(year, storm), Event::Storm)];
    if dice.chance(world.recipe.other_removals_per_year) {
        events.push((day_of(year, dice.unit()), Event::OtherWork));
    }
    if let Some(round) = rounds.iter().find(|round| round.start.year() == year) {
        events.push((round.day_at(site), Event::Visit(round)));
    }
    events.sort_by_key(|(date, _)| *date);
    events
}

/// Draws of a district's weather: number 0 the year's strongest wind, number 1 its day.
fn wind_draw(world: &World, line: &Line, year: i16, number: u16) -> f64 {
    let district = DISTRICTS[line.district].name;
    Key::of(world.recipe.seed, district).uniform(year as u32, Slot::new(Purpose::Wind, 0, number))
}

fn blown_over(world: &World, line: &Line, pole: &Standing, date: Date) -> bool {
    let truth = &pole.truth;
    let progress = truth.wood.progress(years_between(truth.installed, date));
    let remaining = remaining_strength_at(truth.wood.mode, progress);
    let wind = world
        .hazard
        .strongest_wind(wind_draw(world, line, date.year(), 0));
    !pole.is_braced(world.recipe, date) && world.hazard.fails(wind, truth.strength_ratio, remaining)
}

fn day_of(year: i16, part: f64) -> Date {
    date_after(crate::units::mid_year(year), part * 0.99 - 0.495)
}

/// A pole just set, with the life that it will have.
pub(super) fn set(
    world: &World,
    line: &Line,
    stock: Stock,
    batch_shift: f64,
    installed: Date,
    dice: &mut Dice,
) -> Standing {
    let zone = Zone::new(DISTRICTS[line.district].zone).unwrap_or(Zone::ALL[0]);
    let cell = world.models.cell_for(
        Some(stock.species),
        Some(stock.preservative),
        stock.through_bored,
        zone,
    );
    Standing {
        stock,
        generation: 0,
        truth: destiny(
            world,
            cell,
            line.soil_shift,
            batch_shift,
            installed,
            stock,
            dice,
        ),
        inspections: Vec::new(),
        gone_by: None,
        reinforced: None,
        predecessors_year: None,
    }
}

fn destiny(
    world: &World,
    cell: CellIndex,
    soil_shift: f64,
    batch_shift: f64,
    installed: Date,
    stock: Stock,
    dice: &mut Dice,
) -> Truth {
    let curve: &Cell = world.models.cell(cell);
    let shift = world.recipe.shift_of(&world.models.kind(cell).id);
    let early = dice.chance(curve.life.early_share);
    let life = if early {
        curve.life.early.quantile(dice.open_unit())
    } else {
        curve.life.main.quantile(dice.open_unit()) * exp(shift + soil_shift + batch_shift)
    };
    let (low, high) = PROTECTED_RANGE;
    let diameter = stock.mean_diameter().0 * exp(dice.normal(0.0, DIAMETER_LN_SD));
    let mode = if dice.chance(curve.internal_share) {
        Mode::Internal
    } else {
        Mode::External
    };
    Truth {
        cell,
        wood: Wood {
            life,
            protected: dice.normal_within(curve.protected_mean, curve.protected_sd, low, high),
            mode,
            diameter: Mm(diameter),
        },
        early,
        strength_ratio: world.hazard.strength_ratio(dice.open_unit()),
        hidden: dice.chance(world.detection.hidden_share),
        shift,
        soil_shift,
        batch_shift,
        installed,
        progress: 0.0,
        limit: 0.0,
        below_limit: false,
    }
}

/// The pole that takes the place of another: bought in its year, of the same size, in the same soil, of another batch.
fn replacement(
    world: &World,
    line: &Line,
    old: &Standing,
    date: Date,
    dice: &mut Dice,
) -> Standing {
    let size = (old.stock.length_m, old.stock.class);
    let stock = bought(date.year(), Some(size), dice);
    let batch_shift = dice.normal(0.0, world.recipe.tau_batch);
    let keeps_year = dice.chance(world.recipe.predecessor_year_share);
    Standing {
        generation: old.generation + 1,
        predecessors_year: keeps_year.then(|| {
            old.predecessors_year
                .unwrap_or_else(|| old.truth.installed.year())
        }),
        ..set(world, line, stock, batch_shift, date, dice)
    }
}

fn look_today(recipe: &Recipe, pole: &mut Standing) {
    let truth = &mut pole.truth;
    let wood = &truth.wood;
    truth.progress = wood.progress(years_between(truth.installed, recipe.today));
    truth.limit = limit_progress(&recipe.rejects, recipe.today, wood.mode, wood.diameter);
    truth.below_limit = truth.progress >= truth.limit;
}

/// One visit of a round: nothing, a note that the pole was not inspected, or a finding and what follows from it.
fn visit(world: &World, pole: &mut Standing, round: &Round, date: Date, dice: &mut Dice) {
    let age = years_between(pole.truth.installed, date);
    if age < world.recipe.first_inspection_age || pole.gone_by.is_some() {
        return;
    }
    if dice.chance(world.recipe.missed_share) {
        if dice.chance(0.5) {
            let missed = note(date, round, Verdict::NotInspected);
            pole.inspections.push(missed);
        }
        return;
    }
    let mut found = inspect(world, &pole.truth, round, date, dice);
    if pole.is_braced(world.recipe, date) && found.verdict.is_reject() {
        // Nobody condemns a pole for decay that a reinforcement bridges.
        found.verdict = Verdict::DecayServiceable;
    }
    if found.verdict.is_reject() {
        // A second reinforcement is not put where one has come to its end.
        if pole.reinforced.is_none() && dice.chance(world.recipe.reinforced_share) {
            let since = date_after(date, 0.3);
            pole.reinforced = Some(Reinforcement {
                since: Some(since),
                kind: None,
            });
        } else {
            let wait = dice.exponential(world.recipe.mean_years_to_removal);
            pole.gone_by = Some(date_after(date, wait.max(1.0 / 365.0)));
        }
    }
    pole.inspections.push(found);
}

fn note(date: Date, round: &Round, verdict: Verdict) -> Inspection {
    Inspection {
        contractor: Some(round.contractor),
        ..Inspection::unmeasured(date, round.method, verdict)
    }
}

/// What an inspection makes of a pole: the outcomes of model section 2 with their probabilities, in their order.
pub(super) fn inspect(
    world: &World,
    truth: &Truth,
    round: &Round,
    date: Date,
    dice: &mut Dice,
) -> Inspection {
    let method = world.detection.of(round.method);
    let wood = &truth.wood;
    let progress = wood.progress(years_between(truth.installed, date));
    let limit = limit_progress(&world.recipe.rejects, date, wood.mode, wood.diameter);
    let measured = dice.chance(measured_share(round.method));
    let false_find = dice.chance(method.false_find);
    let hidden = truth.hidden && Detection::hides_from(round.method);
    if !false_find && (hidden || !dice.chance(method.seen(progress))) {
        return note(date, round, Verdict::Sound);
    }
    let (reading, perceived) = if false_find {
        // Decay that is not there: any reading below the reference limit, any judgement.
        let condemned = dice.chance(method.false_reject);
        (dice.unit(), if condemned { limit } else { limit - 1.0 })
    } else {
        let reading_sd = method.measure_sd(wood.mode, wood.diameter);
        let reading = progress + dice.normal(0.0, reading_sd);
        // A verdict scatters by verdict_sd in all; what a reading does not explain of that comes on top of it.
        let (start, rest) = if measured {
            let rest = method.verdict_sd * method.verdict_sd - reading_sd * reading_sd;
            (reading, rest.max(0.0).sqrt())
        } else {
            (progress, method.verdict_sd)
        };
        (reading, start + dice.normal(0.0, rest))
    };
    let mut found = note(date, round, judged(perceived - limit, dice));
    found.seen_mode = Some(match wood.mode {
        Mode::External => SeenMode::External,
        Mode::Internal => SeenMode::Internal,
    });
    if measured {
        write_down(&mut found, wood, reading, round.girths);
    }
    found
}

/// Share of finds that are measured, by method: an invented owner's habits.
const fn measured_share(method: Method) -> f64 {
    match method {
        Method::Patrol | Method::Sound => 0.0,
        Method::SoundAndBore => 0.4,
        Method::PartialExcavation => 0.7,
        Method::FullExcavation | Method::Instrument => 0.9,
    }
}

fn judged(beyond: f64, dice: &mut Dice) -> Verdict {
    if beyond < 0.0 {
        Verdict::DecayServiceable
    } else if beyond > DANGER_BEYOND {
        Verdict::Danger
    } else if beyond < BRACE_WITHIN && dice.chance(0.6) {
        Verdict::RejectReinforceable
    } else {
        Verdict::RejectReplace
    }
}

/// A reading (in progress) as it is written down: whole millimetres of depth, girth or shell.
///
/// A reading below nothing is written as no loss, one beyond the heart as nothing left.
fn write_down(found: &mut Inspection, wood: &Wood, reading: f64, girths: bool) {
    let radius = wood.diameter.0 / 2.0;
    let lost = (reading / progress_per_mm(wood.mode, wood.diameter)).clamp(0.0, radius);
    let whole = |mm: f64| Some(Mm(mm.round()));
    match wood.mode {
        Mode::Internal => found.sound_shell = whole(radius - lost),
        Mode::External if girths => {
            found.remaining_circumference =
                whole(Mm(2.0 * (radius - lost)).circumference_of_diameter().0);
            found.original_circumference = whole(wood.diameter.circumference_of_diameter().0);
        }
        Mode::External => found.outside_decay_depth = whole(lost),
    }
}
