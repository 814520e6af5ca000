//! The likelihood of inspections against published fits of service life: the code that learns from an owner's records, with
//! flat priors and inspections that see everything, must find the lives that others found in the same data.
//!
//! Data: W. Nelson, Applied Life Data Analysis, 1982 (432 turbine wheels, each inspected once for cracks), and W. Q.
//! Meeker and L. A. Escobar, Statistical Methods for Reliability Data, 1998 (300 tubes of heat exchangers, inspected yearly);
//! the fits are derived: the maximum of the likelihood by two general statistics libraries (`SciPy` 1.17.1, R's `survival` 3.5-3), which agree to 1e-8. Posts: 50-year counts of
//! treated posts in southern Mississippi, Forest Products Journal 65(7-8):307, 2015, abstract.

mod common;

use common::{inspected, inventory_of, pole_set, programme};
use jiff::civil::date;
use polewright::Models;
use polewright::belief::evidence::{Ground, PoleGrid};
use polewright::belief::gone::Subject;
use polewright::belief::grid::{LIFE_CELLS, LifeGrid};
use polewright::belief::kept::Keeping;
use polewright::belief::likelihood::Terms;
use polewright::belief::missing::Missing;
use polewright::belief::nuisances::Figures;
use polewright::models::{Cell, Doubts};
use polewright::pole::{Inspection, Method, Pole, Verdict};
use polewright::programme::{Limit, RejectRule, Removals};
use polewright::units::{Date, Fraction, date_after};
use polewright::wood::{Detection, FailureHazard, LifeCurve, MethodDetection, ServiceLife};

/// Largest relative error of a median and a shape, or this share of the published standard error where that is more: as a
/// fit may be off and still serve.
const RELATIVE: f64 = 0.02;
const OF_STANDARD_ERROR: f64 = 0.1;

/// Share of life before decay sets in. Inspections here see decay as soon as it sets in and condemn for it, so that what is
/// observed, as in the data, is one moment: when the share is over. It is short, so that what was found long after decay set
/// in still stands.
const PROTECTED: f64 = 0.02;

/// The day on which everything was set.
const SET: Date = Date::constant(1900, 1, 1);

/// Things that were seen at the same ages with the same outcomes: their number, the ages at which nothing was found, and the
/// age at which something was.
type Seen<'a> = (f64, &'a [f64], Option<f64>);

/// Every inspection sees all decay, and nothing else.
fn sees_everything() -> Detection {
    let method = MethodDetection {
        sensitivity: 1.0 - 1e-15,
        false_find: 0.0,
        false_reject: 0.0,
        measure_sd_mm: [1.0, 1.0],
        verdict_sd: 1e-9,
    };
    Detection {
        methods: [method; Method::ALL.len()],
        hidden_share: 0.0,
    }
}

/// The likelihoods of what was seen, by cell of service life, as the estimate weighs records.
struct Records {
    /// Years that stand for a unit of the data's time: as many as keep lives within the grid and days far finer than ages.
    unit: f64,
    lives: LifeGrid,
    grids: Vec<(f64, PoleGrid)>,
    cell: Cell,
}

impl Records {
    fn new(models: &Models, unit: f64, seen: &[Seen<'_>]) -> Self {
        let plan_from = date(1906, 1, 1);
        let mut programme = programme();
        programme.plan_from = plan_from;
        let lives = LifeGrid::new(LIFE_CELLS);
        let detection = sees_everything();
        let hazard = FailureHazard::new(0.01, 0.01);
        let inventory = inventory_of(Vec::new());
        let missing = Missing::new(&inventory, &programme, &models.sizes);
        // Any decay is too much, and what was condemned stays in the list: nothing is known only because it is gone.
        let rejects = [RejectRule {
            limit: Limit::Strength(Fraction::clamped(1.0 - 1e-9)),
            from: None,
        }];
        let removals = Removals {
            reinforced_share: Fraction::clamped(0.0),
            mean_years_to_removal: 1e12,
            listed: None,
        };
        let nodes = [Figures {
            ln_miss: [-1e12; Method::ALL.len()],
            detection,
            ..Figures::at(&Default::default(), models)
        }];
        let ground = Ground {
            lives: &lives,
            hazard: &hazard,
            terms: Terms {
                detection: &detection,
                rejects: &rejects,
                removals,
                plan_from,
                required: None,
                known_until: plan_from,
                listing: None,
                brace_years: 20.0,
            },
            missing: &missing,
            keeping: Keeping {
                agents: models.remedies.agents,
                brace_years: 20.0,
                plan_from,
            },
            nodes: &nodes,
        };
        let cell = Cell {
            protected_mean: PROTECTED,
            protected_sd: 0.0,
            // The first loss of wood inside a pole costs it hardly any strength, outside it does at once.
            internal_share: 0.0,
            ..models.cells[0]
        };
        let pole = Pole {
            installed: Some(SET),
            ..pole_set(1900)
        };
        let grid = |inspections: &[Inspection]| {
            let mut grid = PoleGrid::default();
            let subject = Subject {
                pole: &pole,
                inspections,
                end: None,
            };
            grid.fill(&ground, subject, &[(&cell, 1.0)]);
            grid
        };
        let at = |age: f64, verdict| {
            inspected(date_after(SET, age * unit), Method::FullExcavation, verdict)
        };
        let grids = seen
            .iter()
            .map(|(number, sound, found)| {
                let sound = sound.iter().map(|age| at(*age, Verdict::Sound));
                let found = found.map(|age| at(age, Verdict::RejectReplace));
                let looks: Vec<Inspection> = sound.chain(found).collect();
                (*number, grid(&looks))
            })
            .collect();
        Self {
            unit,
            lives,
            grids,
            cell,
        }
    }

    /// ln likelihood of a curve of the moment that is observed.
    fn ln_likelihood(&self, main: LifeCurve) -> f64 {
        let cell = Cell {
            life: ServiceLife {
                main,
                early_share: 0.0,
                ..self.cell.life
            },
            ..self.cell
        };
        let prior = self.lives.prior(&cell, 0.0);
        let of = |(number, grid): &(f64, PoleGrid)| {
            let (found, listed) = grid.found_and_listed(0, &prior);
            number * (found / listed).max(f64::MIN_POSITIVE).ln()
        };
        self.grids.iter().map(of).sum()
    }

    /// Scale and shape of the Weibull curve of most likelihood, by a search that closes in on it.
    fn weibull(&self) -> (f64, f64) {
        let mut best = (30.0_f64.ln(), 2.0_f64.ln());
        let mut step = 0.5;
        while step > 1e-4 {
            let around = (-4..=4).flat_map(|a| (-4..=4).map(move |b| (f64::from(a), f64::from(b))));
            let at = |(scale, shape): (f64, f64)| LifeCurve::Weibull {
                shape: shape.exp(),
                scale_years: scale.exp() * self.unit / PROTECTED,
            };
            best = around
                .map(|(a, b)| (best.0 + step * a, best.1 + step * b))
                .max_by(|one, other| {
                    let of = |place: (f64, f64)| self.ln_likelihood(at(place));
                    of(*one).total_cmp(&of(*other))
                })
                .expect("a place");
            step *= 0.6;
        }
        (best.0.exp(), best.1.exp())
    }
}

fn models() -> Models {
    Models {
        doubts: Doubts::NONE,
        ..polewright::models::text::built_in().expect("valid models")
    }
}

/// Holds median and shape to a published fit: scale, shape, and standard errors of their logarithms with the covariance.
fn assert_fits(records: &Records, published: [f64; 2], [[a, ab], [_, b]]: [[f64; 2]; 2]) {
    let (scale, shape) = records.weibull();
    let ln_median = |scale: f64, shape: f64| scale.ln() + 2.0_f64.ln().ln() / shape;
    // ln median = ln scale + ln ln 2 / shape: the second term moves by -ln ln 2 / shape with the logarithm of the shape.
    let slope = -2.0_f64.ln().ln() / published[1];
    let median_se = (a + 2.0 * slope * ab + slope * slope * b).sqrt();
    let of_median = ln_median(scale, shape) - ln_median(published[0], published[1]);
    let of_shape = (shape / published[1]).ln();
    assert!(
        of_median.abs() <= RELATIVE.max(OF_STANDARD_ERROR * median_se),
        "median off by {of_median}: scale {scale}"
    );
    assert!(
        of_shape.abs() <= RELATIVE.max(OF_STANDARD_ERROR * b.sqrt()),
        "shape {shape}"
    );
}

#[test]
fn turbine_wheels_inspected_once_have_the_published_life() {
    // Hundreds of hours at the inspection; wheels with a crack and without.
    let counts = [
        (4.0, 0.0, 39.0),
        (10.0, 4.0, 49.0),
        (14.0, 2.0, 31.0),
        (18.0, 7.0, 66.0),
        (22.0, 5.0, 25.0),
        (26.0, 9.0, 30.0),
        (30.0, 9.0, 33.0),
        (34.0, 6.0, 7.0),
        (38.0, 22.0, 12.0),
        (42.0, 21.0, 19.0),
        (46.0, 21.0, 15.0),
    ];
    let ages: Vec<[f64; 1]> = counts.iter().map(|(age, ..)| [*age]).collect();
    let cracked = counts
        .iter()
        .map(|(age, yes, _)| (*yes, &[][..], Some(*age)));
    let whole = counts
        .iter()
        .zip(&ages)
        .map(|((.., no), age)| (*no, &age[..], None));
    let seen: Vec<Seen<'_>> = cracked.chain(whole).filter(|group| group.0 > 0.0).collect();
    let records = Records::new(&models(), 0.1, &seen);
    assert_fits(
        &records,
        [46.777_230_25, 2.175_779_909],
        // Of the logarithms: 0.06394^2, covariance, 0.12447^2.
        [[0.004_087_9, -0.005_599_6], [-0.005_599_6, 0.015_492_7]],
    );
}

#[test]
fn heat_exchangers_inspected_yearly_have_the_published_life() {
    // Three plants, inspected for one, two and three years.
    let records = Records::new(
        &models(),
        0.5,
        &[
            (1.0 + 2.0 + 1.0, &[], Some(1.0)),
            (2.0 + 3.0, &[1.0], Some(2.0)),
            (2.0, &[1.0, 2.0], Some(3.0)),
            (95.0, &[1.0, 2.0, 3.0], None),
            (95.0, &[1.0, 2.0], None),
            (99.0, &[1.0], None),
        ],
    );
    assert_fits(
        &records,
        [23.619_923_92, 1.345_515_028],
        // Of the logarithms: 0.79834^2, covariance, 0.32728^2.
        [[0.637_345_8, -0.250_775_7], [-0.250_775_7, 0.107_111_7]],
    );
}

#[test]
fn posts_of_which_none_failed_say_only_how_long_they_last_at_least() {
    let models = models();
    let median_of = |installed: f64, failed: f64| {
        let seen: [Seen<'_>; 2] = [
            (failed, &[], Some(50.0)),
            (installed - failed, &[50.0], None),
        ];
        let records = Records::new(&models, 0.02, &seen);
        // One count in fifty years tells no spread: both published medians lie within 2 % of what this one makes of the
        // counts (derived: 50 exp(1.175 x 0.54) = 94, 50 exp(0.842 x 0.54) = 79).
        let of = |median: f64| {
            records.ln_likelihood(LifeCurve::Lognormal {
                median_years: median * records.unit / PROTECTED,
                ln_sd: 0.54,
            })
        };
        let medians = (0..250).map(|step| 40.0 * 1.01_f64.powi(step));
        let best = medians
            .clone()
            .max_by(|one, other| of(*one).total_cmp(&of(*other)))
            .expect("a median");
        let longest = medians.clone().next_back();
        (best, longest.expect("a median"))
    };
    // Pine with ammoniacal copper arsenate (3 of 25) and creosote (5 of 25): published as 96 and 78 years to 50 %.
    for (failed, published) in [(3.0, 96.0), (5.0, 78.0)] {
        let (median, _) = median_of(25.0, failed);
        let error = (median / published).ln();
        // The grid of medians has steps of 1 %.
        assert!(error.abs() <= RELATIVE + 0.01, "{median} for {published}");
    }
    // Chromated copper arsenate (0 of 125) and pentachlorophenol (0 of 75): no most likely median, however far one looks.
    for installed in [125.0, 75.0] {
        let (median, longest) = median_of(installed, 0.0);
        assert!(median >= 0.9 * longest, "{median}");
    }
}
