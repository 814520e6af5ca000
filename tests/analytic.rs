//! Trials against answers in closed form, within three standard errors at a fixed seed, and against the grid.

mod common;

use polewright::belief::believe;
use polewright::chance::{Key, Purpose, Slot};
use polewright::pole::{Method, Mode, Preservative, Species, Verdict};
use polewright::programme::Policy;
use polewright::schedule::{Decisions, Schedule, Visits};
use polewright::trial::life::{Circumstances, Event, Specimen, World, life};
use polewright::trial::{Kind, trial};
use polewright::units::Mm;
use polewright::wood::{Detection, FailureHazard, LifeCurve, MethodDetection, Upkeep, Wood};

/// Trials of each closed form.
const TRIALS: u32 = 40_000;
/// Bound on the deviation from a closed form, in standard errors: one right answer in 370 would fail, and the seeds
/// are fixed.
const STANDARD_ERRORS: f64 = 3.0;

/// A method that sees all decay at once, judges exactly and never errs.
const PERFECT: MethodDetection = MethodDetection {
    sensitivity: 1.0,
    false_find: 0.0,
    false_reject: 0.0,
    measure_sd_mm: [1e-6, 1e-6],
    verdict_sd: 1e-9,
};

/// A place where nothing happens but what a test asks for.
struct Calm {
    policy: Policy,
    detection: Detection,
    hazard: FailureHazard,
    /// Whether the wind blows at all.
    windy: bool,
}

impl Calm {
    fn new() -> Self {
        Self {
            windy: false,
            policy: Policy {
                replace_within_years: 0.0,
                ..common::policy()
            },
            detection: Detection {
                methods: [PERFECT; 6],
                hidden_share: 0.0,
            },
            hazard: FailureHazard::new(0.8, 0.2),
        }
    }

    /// Counts of an event by plan year over all trials.
    fn count(
        &self,
        wanted: Event,
        years: u16,
        visits: &Visits,
        first: impl Fn(u32) -> Specimen,
        next: impl Fn(u32, u8, f64) -> Specimen,
    ) -> Vec<u32> {
        let mut counts = vec![0; usize::from(years)];
        let world = World {
            policy: &self.policy,
            detection: &self.detection,
            hazard: &self.hazard,
            treatment: &[None; Mode::ALL.len()],
            years,
        };
        for number in 0..TRIALS {
            let key = Key::of(11, "place");
            let wind = |year| {
                self.hazard
                    .strongest_wind(key.uniform(number, Slot::new(Purpose::Wind, 0, year)))
            };
            let winds: Vec<f64> = (0..years)
                .map(|year| if self.windy { wind(year) } else { 0.0 })
                .collect();
            let here = Circumstances {
                first: first(number),
                upkeep: &Upkeep::default(),
                visits,
                winds: &winds,
                limit: &|_, _| 1.0,
                next: &|generation, years| next(number, generation, years),
                draw: &|slot| key.uniform(number, slot),
            };
            life(&world, &here, |year, event| {
                if event == wanted {
                    counts[usize::from(year)] += 1;
                }
            });
        }
        counts
    }
}

const NO_VISITS: Visits = Visits {
    first: None,
    repeat_years: 10,
    after_decay_years: 10,
    first_age_years: 200,
    braced_years: 10,
    method: Method::FullExcavation,
    replace: None,
    reinforce: None,
    replace_at_age: None,
};

/// A pole of the reference diameter whose decay starts when it is set and whose strength never matters.
fn specimen(life: f64, age: f64) -> Specimen {
    let wood = Wood {
        life,
        protected: 0.0,
        mode: Mode::External,
        diameter: Mm(300.0),
    };
    Specimen {
        wood,
        age,
        strength_ratio: 1e9,
        hidden: false,
        other_end: f64::INFINITY,
        clock_factor: 1.0,
    }
}

fn uniform(trial: u32, generation: u8) -> f64 {
    Key::of(11, "place").uniform(trial, Slot::new(Purpose::Life, generation, 0))
}

fn assert_share(count: u32, expected: f64, what: &str) {
    let n = f64::from(TRIALS);
    let error = (expected * (1.0 - expected) / n).sqrt();
    let share = f64::from(count) / n;
    assert!(
        (share - expected).abs() <= STANDARD_ERRORS * error,
        "{what}: {share} for {expected} +- {error}"
    );
}

#[test]
fn without_inspections_poles_fall_below_the_limit_as_their_curve_says() {
    // A pole of the reference diameter is below the limit at its service life, so the share below after y years of a
    // pole aged a is F(a + y): Weibull with shape 1 is the exponential, 1 - exp(-(a + y) / scale).
    let curves = [
        LifeCurve::Weibull {
            shape: 1.0,
            scale_years: 40.0,
        },
        LifeCurve::Lognormal {
            median_years: 45.0,
            ln_sd: 0.5,
        },
    ];
    for curve in curves {
        let calm = Calm::new();
        let counts = calm.count(
            Event::BelowLimit,
            30,
            &NO_VISITS,
            |number| specimen(curve.quantile(uniform(number, 0)), 12.0),
            |_, _, _| unreachable!("nothing is replaced"),
        );
        for year in [0, 9, 29] {
            let expected = curve.cdf(12.0 + f64::from(year) + 1.0);
            assert_share(
                counts[year as usize],
                expected,
                &format!("{curve:?} year {year}"),
            );
        }
        let exponential = 1.0 - (-22.0_f64 / 40.0).exp();
        assert!((curves[0].cdf(22.0) - exponential).abs() < 1e-12);
    }
}

#[test]
fn perfect_inspections_find_what_fell_below_since_the_last() {
    // Inspected perfectly in the middles of years 4, 10, 16, ...: each finds F(t_j) - F(t_{j-1}) of the poles that
    // stood at the plan date; their replacements are first inspected beyond the horizon.
    let curve = LifeCurve::Lognormal {
        median_years: 45.0,
        ln_sd: 0.5,
    };
    let visits = Visits {
        first: Some(4),
        repeat_years: 6,
        after_decay_years: 6,
        ..NO_VISITS
    };
    let counts = Calm::new().count(
        Event::Rejected,
        30,
        &visits,
        |number| specimen(curve.quantile(uniform(number, 0)), 20.0),
        |number, generation, years| specimen(curve.quantile(uniform(number, generation)), -years),
    );
    let mut before = 0.0;
    for year in (4..30).step_by(6) {
        let upto = curve.cdf(20.0 + f64::from(year) + 0.5);
        assert_share(
            counts[year as usize],
            upto - before,
            &format!("round of year {year}"),
        );
        before = upto;
    }
    assert_eq!(
        counts
            .iter()
            .enumerate()
            .filter(|(year, _)| year % 6 != 4)
            .map(|(_, n)| n)
            .sum::<u32>(),
        0
    );
}

#[test]
fn renewals_without_memory_come_at_their_rate() {
    // Ends without memory at a rate r, seen once a year: every year renews a share 1 - exp(-r), whoever stands there.
    const RATE: f64 = 0.08;
    let end = |number, generation| -f64::ln(uniform(number, generation)) / RATE;
    let counts = Calm::new().count(
        Event::Replaced(Kind::OtherDemand),
        25,
        &NO_VISITS,
        |number| Specimen {
            other_end: 30.0 - 0.5 + end(number, 0),
            ..specimen(1e9, 30.0)
        },
        |number, generation, years| Specimen {
            other_end: end(number, generation),
            ..specimen(1e9, -years)
        },
    );
    for year in [0, 1, 7, 24] {
        assert_share(counts[year], 1.0 - f64::exp(-RATE), &format!("year {year}"));
    }
}

#[test]
fn poles_of_constant_strength_fail_at_the_yearly_hazard() {
    // A pole that does not decay stands through a year with exp(-h); its strength is fixed, so it does so n times over.
    let calm = Calm {
        windy: true,
        ..Calm::new()
    };
    let ratio = 0.9;
    let rate = calm.hazard.yearly(ratio, 1.0);
    assert!(rate > 0.005, "the case must be able to fail: {rate}");
    let counts = calm.count(
        Event::Failed,
        20,
        &NO_VISITS,
        |_| Specimen {
            strength_ratio: ratio,
            ..specimen(1e9, 0.0)
        },
        |_, _, years| specimen(1e9, -years),
    );
    let mut standing = 1.0;
    for (year, count) in counts.iter().enumerate() {
        let fails = standing * (1.0 - f64::exp(-rate));
        assert_share(*count, fails, &format!("year {year}"));
        standing -= fails;
    }
}

#[test]
fn the_share_of_trials_below_the_limit_is_the_beliefs_probability() {
    // One pole a fleet, nothing done to it, and so little wind that only a pole of no strength at all fails: the belief
    // supposes that the pole stands, so such a failure counts as below the limit from then on.
    const FLEET_TRIALS: u32 = 8192;
    let models = polewright::models::text::built_in().expect("valid models");
    let mut programme = common::programme();
    programme.trials = FLEET_TRIALS;
    programme.hazards.use_of_capacity = 1e-9;
    programme.hazards.other_demand = 0.0;
    let histories = [
        vec![],
        vec![common::inspected(
            jiff::civil::date(2016, 6, 1),
            Method::SoundAndBore,
            Verdict::Sound,
        )],
        vec![
            common::inspected(
                jiff::civil::date(2006, 6, 1),
                Method::PartialExcavation,
                Verdict::Sound,
            ),
            common::inspected(
                jiff::civil::date(2017, 6, 1),
                Method::PartialExcavation,
                Verdict::DecayServiceable,
            ),
        ],
    ];
    let mut cases = 0;
    for (set, history) in [1962, 1975, 1988].into_iter().zip(histories) {
        let pole = polewright::pole::Pole {
            species: Some(Species::Pine),
            preservative: Some(Preservative::Creosote),
            ..common::pole_set(set)
        };
        let inventory = common::inventory_of(vec![("P-1", "north", pole, history)]);
        let beliefs = believe(&inventory, &models, &programme);
        let schedule = Schedule {
            rows: Vec::new(),
            ranking: Vec::new(),
            packages: Vec::new(),
            visits: vec![NO_VISITS],
            crew_days: Vec::new(),
            decisions: Decisions::default(),
            proof: polewright::schedule::Proof::default(),
        };
        let forecast = trial(&inventory, &models, &beliefs, &schedule, &programme).forecast();
        for year in [0, 4, 9, 19] {
            let expected = f64::from(beliefs.summaries[0].below_limit[year + 1]);
            let failed: f64 = forecast.years[..=year]
                .iter()
                .map(|earlier| earlier.failures.mean)
                .sum();
            let share = forecast.years[year].below_limit.mean + failed;
            let error = (expected * (1.0 - expected) / f64::from(FLEET_TRIALS)).sqrt();
            // Draws come from the same grid; the joint draws of the shift add their own sampling error, which is of
            // the same size as that of the trials.
            let bound = STANDARD_ERRORS * error * 2.0_f64.sqrt();
            assert!(
                (share - expected).abs() <= bound,
                "set {set} year {year}: {share} for {expected}"
            );
            cases += 1;
        }
    }
    assert_eq!(cases, 12);
}
