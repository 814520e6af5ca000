//! The grid against brute force: sampled poles weighed by the formulas of the model, and a grid of half the step.

mod common;

use common::{inspected, inventory_of, pole_set};
use jiff::civil::date;
use polewright::belief::areas::AREA_SD;
use polewright::belief::grid::{LIFE_CELLS, LifeGrid};
use polewright::belief::{believe, believe_on};
use polewright::chance::{Key, Purpose, Slot};
use polewright::maths::{normal_cdf, normal_pdf, normal_quantile};
use polewright::models::Cell;
use polewright::models::Doubts;
use polewright::pole::{
    Agent, Inspection, Method, Mode, Pole, PoleClass, Preservative, Reinforcement, SeenMode,
    Species, Verdict,
};
use polewright::programme::{Limit, RejectRule};
use polewright::units::{Mm, years_between};
use polewright::wood::progress::PROTECTED_RANGE;
use polewright::wood::section::{progress_of_strength, remaining_strength_at};
use polewright::wood::strength::{limit_progress, measured_strength};
use polewright::wood::{FailureHazard, MethodDetection, Wood};
use polewright::{Inventory, Models, Programme};

/// Samples of each brute-force answer.
const SAMPLES: u32 = 800_000;
/// Largest error of a probability that the grid may make: the model's quality bar.
const GRID_ERROR: f64 = 0.005;
/// Relative error of a yearly increment: the model's quality bar.
const INCREMENT_ERROR: f64 = 0.05;
/// Samples count for what they are worth: bounds are widened by this many of their standard errors.
const STANDARD_ERRORS: f64 = 3.5;

/// The models without doubt about their figures: what brute force can draw from.
fn models() -> Models {
    Models {
        doubts: Doubts::NONE,
        ..polewright::models::text::built_in().expect("valid models")
    }
}

fn programme() -> Programme {
    Programme {
        trials: 1024,
        ..common::programme()
    }
}

/// Poles with different records: nothing, sound, sound twice, decay, rejects, readings of both modes, weak and
/// strong methods, an early finding, a thick pole.
fn cases() -> Vec<(&'static str, Pole, Vec<Inspection>)> {
    let pine = |year| Pole {
        species: Some(Species::Pine),
        preservative: Some(Preservative::Creosote),
        ..pole_set(year)
    };
    let fir = |year| Pole {
        species: Some(Species::DouglasFir),
        preservative: Some(Preservative::Pentachlorophenol),
        ..pole_set(year)
    };
    let measured = |pole: Pole, mm| Pole {
        diameter: Some(Mm(mm)),
        ..pole
    };
    let depth = |visit: Inspection, mm| Inspection {
        outside_decay_depth: Some(Mm(mm)),
        ..visit
    };
    let shell = |visit: Inspection, mm| Inspection {
        sound_shell: Some(Mm(mm)),
        ..visit
    };
    let sound = |year, method| inspected(date(year, 6, 1), method, Verdict::Sound);
    let kept = |year, method| inspected(date(year, 6, 1), method, Verdict::DecayServiceable);
    let bore = Method::SoundAndBore;
    let dig = Method::PartialExcavation;
    vec![
        ("no record", pine(1970), vec![]),
        ("sound once", pine(1970), vec![sound(2015, bore)]),
        (
            "sound three times",
            pine(1960),
            vec![sound(1995, bore), sound(2005, dig), sound(2016, dig)],
        ),
        ("hammer only", pine(1970), vec![sound(2020, Method::Sound)]),
        (
            "decay seen",
            fir(1980),
            vec![sound(2008, dig), kept(2018, dig)],
        ),
        (
            "outside decay measured",
            measured(pine(1972), 310.0),
            vec![depth(kept(2018, dig), 9.0)],
        ),
        (
            "hollow measured",
            measured(fir(1975), 290.0),
            vec![sound(2005, bore), shell(kept(2017, dig), 70.0)],
        ),
        (
            "rejected and still there",
            pine(1965),
            vec![
                sound(2010, dig),
                inspected(date(2023, 6, 1), dig, Verdict::RejectReplace),
            ],
        ),
        (
            "dug all round",
            measured(pine(1968), 400.0),
            vec![sound(2019, Method::FullExcavation)],
        ),
        (
            "external decay, early",
            pine(1990),
            vec![
                Inspection {
                    seen_mode: Some(SeenMode::External),
                    ..kept(2012, dig)
                },
                sound(2021, bore),
            ],
        ),
    ]
}

/// Poles that were treated or braced.
fn kept_poles() -> Vec<(&'static str, Pole, Vec<Inspection>)> {
    let dig = Method::PartialExcavation;
    let pine = Pole {
        species: Some(Species::Pine),
        preservative: Some(Preservative::Creosote),
        diameter: Some(Mm(310.0)),
        ..pole_set(1968)
    };
    let fir = Pole {
        species: Some(Species::DouglasFir),
        preservative: Some(Preservative::Pentachlorophenol),
        ..pole_set(1980)
    };
    let kept = |year| inspected(date(year, 6, 1), dig, Verdict::DecayServiceable);
    let depth = |visit: Inspection, mm| Inspection {
        outside_decay_depth: Some(Mm(mm)),
        ..visit
    };
    let treated = |visit: Inspection, agent| Inspection {
        treated: true,
        agent: Some(agent),
        ..visit
    };
    vec![
        (
            "fumigated, then found decayed",
            fir,
            vec![treated(kept(2009), Agent::Dazomet), kept(2021)],
        ),
        (
            "wrapped with paste lately",
            pine,
            vec![depth(kept(2012), 9.0), treated(kept(2020), Agent::Paste)],
        ),
        (
            "braced and passed",
            Pole {
                reinforced: Some(Reinforcement {
                    since: Some(date(2012, 1, 1)),
                    kind: None,
                }),
                ..pine
            },
            vec![
                inspected(date(2011, 6, 1), dig, Verdict::RejectReinforceable),
                kept(2020),
            ],
        ),
    ]
}

/// One sampled pole and what the formulas of sections 2 and 4 say of it.
struct Sample {
    wood: Wood,
    factor: f64,
    found: f64,
    listed: f64,
}

/// Uniform draw number `purpose` of sample `number`.
fn draw(number: u32, place: u16) -> f64 {
    Key::of(5, "brute force").uniform(number, Slot::new(Purpose::Invent, 0, place))
}

/// Years after setting in which the recorded treatments act on a mode. By hand, for the agents of [`cases`]: ten years
/// for dazomet, which acts inside, and for paste, which acts outside.
fn slowed(pole: &Pole, visits: &[Inspection], mode: Mode) -> Option<(f64, f64)> {
    let treated = visits.iter().find(|visit| visit.treated)?;
    let reached = match treated.agent {
        Some(Agent::Dazomet) => Mode::Internal,
        Some(Agent::Paste) => Mode::External,
        _ => return None,
    };
    let from = years_between(pole.installed.expect("dated"), treated.date);
    (mode == reached).then_some((from, from + 10.0))
}

/// Progress at an age: a year of decay counts the factor while the agent acts.
fn progress(wood: &Wood, factor: f64, slowed: Option<(f64, f64)>, age: f64) -> f64 {
    let (from, until) = slowed.unwrap_or((0.0, 0.0));
    let acting = (until.min(age) - from.max(wood.onset())).max(0.0);
    wood.progress(age - (1.0 - factor) * acting)
}

/// Hazard of failure in wind to an age, by steps of about a year where a treatment or a brace changes it.
fn hazard_to(
    wood: &Wood,
    factor: f64,
    slowed: Option<(f64, f64)>,
    braced: Option<(f64, f64)>,
    ratio: f64,
    age: f64,
) -> f64 {
    if slowed.is_none() && braced.is_none() {
        return hazard().cumulative(
            wood.mode,
            ratio,
            age,
            wood.onset(),
            wood.years_to_reference(),
        );
    }
    let steps = age.ceil();
    let width = age / steps;
    (0..steps as u32)
        .map(|step| (f64::from(step) + 0.5) * width)
        .map(|at| {
            let held = braced.is_some_and(|(from, until)| from <= at && at < until);
            let left = if held {
                1.0
            } else {
                remaining_strength_at(wood.mode, progress(wood, factor, slowed, at))
            };
            width * hazard().yearly(ratio, left)
        })
        .sum()
}

/// Chance of a verdict for decay that is there and reads so far beyond the limit, and for decay that is not there: verdicts
/// scatter around readings by what these leave of their scatter, and one in ten is given for something else.
fn chances_of_verdict(
    method: &MethodDetection,
    verdict: Verdict,
    beyond: f64,
    reading_sd: f64,
) -> [f64; 2] {
    let rest = (method.verdict_sd.powi(2) - reading_sd.powi(2)).sqrt();
    let condemned = normal_cdf(beyond / rest);
    let (by_reading, by_false_find) = if verdict.is_reject() {
        (condemned, method.false_reject)
    } else {
        (1.0 - condemned, 1.0 - method.false_reject)
    };
    [0.9 * by_reading + 0.1 * by_false_find, by_false_find]
}

fn sample(
    number: u32,
    cell: &Cell,
    shift: f64,
    pole: &Pole,
    visits: &[Inspection],
    programme: &Programme,
) -> Sample {
    let early = draw(number, 2) < cell.life.early_share;
    let life = if early {
        cell.life.early.quantile(draw(number, 3))
    } else {
        cell.life.main.quantile(draw(number, 3)) * shift.exp()
    };
    let protected = (cell.protected_mean + cell.protected_sd * normal_quantile(draw(number, 4)))
        .clamp(PROTECTED_RANGE.0, PROTECTED_RANGE.1);
    let mode = if draw(number, 5) < cell.internal_share {
        Mode::Internal
    } else {
        Mode::External
    };
    let wood = Wood {
        life,
        protected,
        mode,
        diameter: pole.diameter.unwrap_or(Mm(300.0)),
    };
    // Evenly from 0.3 to 0.5 or from 0.5 to 0.8, as often the one as the other.
    let uniform = draw(number, 8);
    let factor = if uniform < 0.5 {
        0.3 + 0.4 * uniform
    } else {
        0.5 + 0.6 * (uniform - 0.5)
    };
    let slowed = slowed(pole, visits, mode);
    // Braces hold for the programme's twenty years.
    let braced = pole.reinforced.and_then(|brace| brace.since).map(|since| {
        let from = years_between(pole.installed.expect("dated"), since);
        (from, from + 20.0)
    });
    let hidden = draw(number, 6) < models_once().detection.hidden_share;
    let (mut found, mut kept, mut rejected_yet_listed) = (1.0, 1.0, 0.0);
    for visit in visits {
        let age = years_between(pole.installed.expect("dated"), visit.date);
        let method = models_once().detection.of(visit.method);
        let blind = hidden && visit.method != Method::FullExcavation;
        let progress = progress(&wood, factor, slowed, age);
        let seen_as = if blind { progress.min(0.0) } else { progress };
        let bridged = braced.is_some_and(|(from, until)| from <= age && age < until);
        let limit = limit_progress(&programme.rejects, visit.date, mode, wood.diameter);
        let rejected = method.rejected(seen_as, limit);
        let seen_mode = visit
            .seen_mode
            .or(match (visit.outside_decay_depth, visit.sound_shell) {
                (Some(_), None) => Some(SeenMode::External),
                (None, Some(_)) => Some(SeenMode::Internal),
                _ => None,
            });
        let possible = match seen_mode {
            Some(SeenMode::External) => mode == Mode::External,
            Some(SeenMode::Internal) => mode == Mode::Internal,
            _ => true,
        };
        let truth = if possible { seen_as } else { -1.0 };
        found *= match (visit.verdict, measured_strength(visit, wood.diameter)) {
            (Verdict::Sound, _) => 1.0 - method.found(seen_as),
            (_, Some(left)) => {
                let read = progress_of_strength(mode, left);
                let sd = method.measure_sd(mode, wood.diameter);
                // Nothing is there to be read but what a false find reads.
                let falsely = method.reading(read, -1.0, sd);
                let truly = method.reading(read, truth, sd) - falsely;
                let [of_true, of_false] = if bridged {
                    [1.0, 1.0]
                } else {
                    chances_of_verdict(method, visit.verdict, read - limit, sd)
                };
                truly * of_true + falsely * of_false
            }
            (_, None) if bridged => method.found(truth),
            (Verdict::DecayServiceable, None) => {
                method.found(truth) - method.rejected(truth, limit)
            }
            _ => method.rejected(truth, limit),
        };
        let lag = years_between(visit.date, programme.plan_from);
        rejected_yet_listed += kept * rejected * programme.removals.still_listed(lag);
        kept *= 1.0 - rejected;
    }
    let age = years_between(pole.installed.expect("dated"), programme.plan_from);
    let ratio = hazard().strength_ratio(draw(number, 7));
    let stands = |braced| -> f64 { (-hazard_to(&wood, factor, slowed, braced, ratio, age)).exp() };
    Sample {
        wood,
        factor,
        found: found * stands(braced),
        // Who is listed at all is asked of poles that nobody knows to be braced.
        listed: (kept + rejected_yet_listed) * stands(None),
    }
}

fn models_once() -> &'static Models {
    static MODELS: std::sync::OnceLock<Models> = std::sync::OnceLock::new();
    MODELS.get_or_init(models)
}

fn hazard() -> &'static FailureHazard {
    static HAZARD: std::sync::OnceLock<FailureHazard> = std::sync::OnceLock::new();
    HAZARD.get_or_init(|| FailureHazard::new(0.35, 0.2))
}

/// P(below the limit) now and in 5, 10 and 20 years by brute force, with its standard error.
///
/// Samples of the shift fall into bins; in each bin the findings' mean likelihood is divided by the mean chance of
/// being listed at that shift: the pole's Z, as the model defines it.
fn by_force(pole: &Pole, visits: &[Inspection], programme: &Programme) -> [(f64, f64); 4] {
    let cell = models_once().cell(models_once().cell_for(
        pole.species,
        pole.preservative,
        pole.through_bored,
        pole.zone,
    ));
    of_curve(cell, pole, visits, programme).1
}

/// The mean of `Z` over the shift for a pole of this curve, and the probabilities of [`by_force`].
fn of_curve(
    cell: &Cell,
    pole: &Pole,
    visits: &[Inspection],
    programme: &Programme,
) -> (f64, [(f64, f64); 4]) {
    const BINS: usize = 25;
    let sd = (cell.between_fleets_ln_sd * cell.between_fleets_ln_sd + AREA_SD * AREA_SD).sqrt();
    let samples: Vec<Sample> = (0..SAMPLES)
        .map(|number| {
            // The shift is drawn in strata, one bin after the other, evenly within the bin.
            let bin = number as usize % BINS;
            let p = (bin as f64 + draw(number, 1)) / BINS as f64;
            sample(
                number,
                cell,
                sd * normal_quantile(p),
                pole,
                visits,
                programme,
            )
        })
        .collect();
    let mut listed = [0.0; BINS];
    samples
        .iter()
        .enumerate()
        .for_each(|(number, sample)| listed[number % BINS] += sample.listed);
    let weights: Vec<f64> = samples
        .iter()
        .enumerate()
        .map(|(number, sample)| sample.found / listed[number % BINS])
        .collect();
    let total: f64 = weights.iter().sum();
    let age = years_between(pole.installed.expect("dated"), programme.plan_from);
    let below = [0.0, 5.0, 10.0, 20.0].map(|years| {
        let below = |sample: &Sample| {
            let limit = limit_progress(
                &programme.rejects,
                programme.plan_from,
                sample.wood.mode,
                sample.wood.diameter,
            );
            let slowed = slowed(pole, visits, sample.wood.mode);
            let there = progress(&sample.wood, sample.factor, slowed, age + years);
            f64::from(u8::from(there >= limit))
        };
        let mean: f64 = samples
            .iter()
            .zip(&weights)
            .map(|(sample, w)| w * below(sample))
            .sum::<f64>()
            / total;
        let variance: f64 = samples
            .iter()
            .zip(&weights)
            .map(|(sample, w)| (w * (below(sample) - mean)).powi(2))
            .sum::<f64>();
        (mean, variance.sqrt() / total)
    });
    // Weights sum, bin by bin, to the bin's Z.
    (total / BINS as f64, below)
}

#[test]
fn a_pole_of_unknown_kind_is_what_brute_force_finds_of_its_curves() {
    // 60 creosoted pines and 40 treated firs elsewhere: shares of 60 and 40 in 105, 5 in 105 for the generic curve, which
    // is less than the least share of a mixture; of the two that stay 0.6 and 0.4. A hollow was found, which is more
    // likely in a fir.
    let programme = programme();
    let recorded = |species, preservative| Pole {
        species: Some(species),
        preservative: Some(preservative),
        ..pole_set(1985)
    };
    let pine = recorded(Species::Pine, Preservative::Creosote);
    let fir = recorded(Species::DouglasFir, Preservative::Pentachlorophenol);
    let found = |year, verdict| inspected(date(year, 6, 1), Method::PartialExcavation, verdict);
    let visits = vec![
        found(2008, Verdict::Sound),
        Inspection {
            seen_mode: Some(SeenMode::Internal),
            ..found(2019, Verdict::DecayServiceable)
        },
    ];
    let names: Vec<String> = (0..100).map(|number| format!("K-{number}")).collect();
    let mut poles = vec![("A", "north", pole_set(1978), visits.clone())];
    poles.extend(names.iter().enumerate().map(|(number, name)| {
        let pole = if number < 60 { pine } else { fir };
        (name.as_str(), "south", pole, Vec::new())
    }));
    let beliefs = believe(&inventory_of(poles), models_once(), &programme);
    let summary = &beliefs.summaries[0];
    assert_eq!(summary.curves, 2);
    let undated = pole_set(1978);
    let mut parts = Vec::new();
    for (pole, share) in [(pine, 0.6), (fir, 0.4)] {
        let cell = models_once().cell(models_once().cell_for(
            pole.species,
            pole.preservative,
            None,
            pole.zone,
        ));
        let (z, below) = of_curve(cell, &undated, &visits, &programme);
        parts.push((share * z, below));
    }
    let total: f64 = parts.iter().map(|(weight, _)| weight).sum();
    // The fir's share must have risen: otherwise this tests nothing of the shares.
    assert!(parts[1].0 / total > 0.45, "{}", parts[1].0 / total);
    for (place, year) in [0, 5, 10, 20].into_iter().enumerate() {
        let forced: f64 = parts
            .iter()
            .map(|(weight, below)| weight / total * below[place].0)
            .sum();
        let error = parts[0].1[place].1 + parts[1].1[place].1;
        let grid = f64::from(summary.below_limit[year]);
        assert!(
            (grid - forced).abs() <= GRID_ERROR + STANDARD_ERRORS * error,
            "year {year}: grid {grid}, brute force {forced} +- {error}"
        );
    }
}

fn fleet_of(pole: Pole, visits: Vec<Inspection>) -> Inventory {
    inventory_of(vec![("P-1", "north", pole, visits)])
}

#[test]
fn the_grid_is_what_brute_force_finds() {
    let programme = programme();
    let mut cases_run = 0;
    for (name, pole, visits) in cases().into_iter().chain(kept_poles()) {
        let inventory = fleet_of(pole, visits.clone());
        let beliefs = believe(&inventory, models_once(), &programme);
        for (year, (forced, error)) in [0, 5, 10, 20]
            .into_iter()
            .zip(by_force(&pole, &visits, &programme))
        {
            let grid = f64::from(beliefs.summaries[0].below_limit[year]);
            assert!(
                (grid - forced).abs() <= GRID_ERROR + STANDARD_ERRORS * error,
                "{name}, year {year}: grid {grid}, brute force {forced} +- {error}"
            );
            assert!(
                error < 0.004,
                "{name}: brute force is too blunt to test anything ({error})"
            );
        }
        cases_run += 1;
    }
    assert!(cases_run >= 13);
}

#[test]
fn a_grid_of_half_the_step_gives_the_same_probabilities() {
    let programme = programme();
    for (name, pole, visits) in cases().into_iter().chain(kept_poles()) {
        let inventory = fleet_of(pole, visits);
        let usual = &believe(&inventory, models_once(), &programme).summaries[0];
        let finer = &believe_on(
            LifeGrid::new(2 * LIFE_CELLS),
            &inventory,
            models_once(),
            &programme,
        )
        .summaries[0];
        let reference =
            &believe_on(LifeGrid::new(4096), &inventory, models_once(), &programme).summaries[0];
        for year in 0..usual.below_limit.len() {
            let at = |summary: &polewright::belief::Summary| f64::from(summary.below_limit[year]);
            assert!(
                (at(usual) - at(finer)).abs() <= GRID_ERROR,
                "{name}, year {year}"
            );
            assert!(
                (at(usual) - at(reference)).abs() <= GRID_ERROR,
                "{name}, year {year}, against 4,096 cells"
            );
            if year > 0 {
                let rise = |summary: &polewright::belief::Summary| {
                    f64::from(summary.below_limit[year] - summary.below_limit[year - 1])
                };
                // Increments below one in ten thousand are rounding of the stored single precision.
                if rise(reference) > 1e-4 {
                    let off = rise(usual) / rise(reference) - 1.0;
                    assert!(
                        off.abs() <= INCREMENT_ERROR,
                        "{name}, year {year}: increment off by {off}"
                    );
                }
            }
        }
    }
}

#[test]
fn a_few_diameters_stand_for_a_class_where_a_limit_is_in_millimetres() {
    // Finest against few: 61 measured diameters over three standard deviations, weighed by the normal density.
    const FEW_NODES_ERROR: f32 = 0.002;
    let mut programme = programme();
    programme.rejects.push(RejectRule {
        limit: Limit::SoundShell(Mm(76.0)),
        from: None,
    });
    let models = models();
    let unmeasured = Pole {
        length: Some(Mm(12_192.0)),
        size_class: PoleClass::from_word("4"),
        preservative: Some(Preservative::Creosote),
        ..pole_set(1975)
    };
    let likely = models
        .sizes
        .diameter_of_class(None, unmeasured.size_class.expect("a class"), Mm(12_192.0))
        .expect("a size");
    let steps: Vec<f64> = (-30..=30).map(|step| f64::from(step) / 10.0).collect();
    let ids: Vec<String> = (0..=steps.len())
        .map(|number| format!("P-{number:02}"))
        .collect();
    let mut poles = vec![(ids[0].as_str(), "L", unmeasured, Vec::new())];
    for (id, step) in ids[1..].iter().zip(&steps) {
        let measured = Pole {
            diameter: Some(Mm(likely.median.0 * (likely.ln_sd * step).exp())),
            ..unmeasured
        };
        poles.push((id.as_str(), "L", measured, Vec::new()));
    }
    let inventory = inventory_of(poles);
    let beliefs = believe(&inventory, &models, &programme);
    let total: f64 = steps.iter().map(|step| normal_pdf(*step)).sum();
    for year in [0, 5, 15] {
        let finest: f64 = steps
            .iter()
            .enumerate()
            .map(|(place, step)| {
                let below = beliefs.summaries[place + 1].below_limit[year];
                normal_pdf(*step) / total * f64::from(below)
            })
            .sum();
        let few = beliefs.summaries[0].below_limit[year];
        assert!(
            (few - finest as f32).abs() < FEW_NODES_ERROR,
            "{year}: {few} {finest}"
        );
        assert!(few > 0.02, "{few}");
    }
    // A limit in shares asks for no diameter: one is enough.
    programme.rejects.pop();
    let beliefs = believe(&inventory, &models, &programme);
    let mut scratch = polewright::belief::Scratch::default();
    beliefs.fill_grid(&inventory, polewright::pole::PoleIndex(0), &mut scratch);
    let first = scratch.grid.combinations[0].diameter;
    assert!(
        scratch
            .grid
            .combinations
            .iter()
            .all(|row| row.diameter == first)
    );
    assert!((first.0 - likely.median.0).abs() < 1e-9);
}
