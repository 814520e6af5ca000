//! What is not certain beside lives and areas, and what the owner's findings say of it too (model section 4): the protected
//! share, the spread of lives, how well inspections see, how much decay is hidden, how far readings scatter.
//!
//! Each has a prior in standard deviations around its table value. The evidence of a sample of whole areas, at points one
//! and two at a time, is fitted with a quadratic. Four equally likely nodes then stand for the posterior: they lie along the
//! three directions in which the answers move most, so that the mean and the variance of these are those of the whole
//! posterior as far as they are straight. Owns priors, design and nodes; how a pole is weighed at a node is in
//! [`super::evidence`].

use super::areas::AREA_SD;
use super::covariance::{Matrix, Root};
use crate::maths::{NINETY_PER_CENT, exp, ln};
use crate::models::{Cell, Models};
use crate::pole::Method;
use crate::wood::{Detection, LifeCurve, MethodDetection, ServiceLife};

/// Nodes that are weighed side by side: as many as stand for the posterior.
pub const MOST_NODES: usize = 4;
/// One value a node.
pub type ByNode = [f64; MOST_NODES];

/// What is uncertain.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Nuisance {
    /// Mean protected share, all curves alike.
    ProtectedShare,
    /// Spread of ln life between poles, as a factor.
    Spread,
    /// Sensitivity of inspections, all methods to the same side of their ranges.
    Sensitivity,
    /// Odds that decay is hidden from all methods but full excavation, as a factor.
    Hidden,
    /// Scatter of readings, as a factor.
    Reading,
    /// Spread of soils and batches between areas, on ln life: weighed beside the shifts of areas, not at nodes.
    AreaSpread,
}

impl Nuisance {
    /// Those that nodes differ in, in the order of coordinates.
    pub const ALL: [Self; 5] = [
        Self::ProtectedShare,
        Self::Spread,
        Self::Sensitivity,
        Self::Hidden,
        Self::Reading,
    ];

    /// What it is called in outputs.
    pub const fn word(self) -> &'static str {
        match self {
            Self::ProtectedShare => "mean protected share, difference from the table",
            Self::Spread => "spread of lives, factor on the table's",
            Self::Sensitivity => {
                "sensitivity of inspections, place in the table's range (-1 its low end, 1 its high end)"
            }
            Self::Hidden => "share of poles whose decay is hidden",
            Self::Reading => "scatter of readings, factor on the table's",
            Self::AreaSpread => "spread of ln life between lines, soil and batch",
        }
    }
}

/// Number of uncertain things.
pub const COORDINATES: usize = Nuisance::ALL.len();
/// A point in prior standard deviations, in the order of [`Nuisance::ALL`].
pub type Point = [f64; COORDINATES];

/// The uncertain figures at one node.
#[derive(Debug, Clone, PartialEq)]
pub struct Figures {
    /// What is added to every curve's mean protected share.
    pub protected_shift: f64,
    /// Factor on the spread of ln life.
    pub spread: f64,
    /// ln of the chance of missing decay at the reference limit, by [`Method::index`].
    pub ln_miss: [f64; Method::ALL.len()],
    /// Factor on the scatter of readings.
    pub reading: f64,
    /// Place in the ranges of sensitivity: -1 at the low ends, 1 at the high ends.
    pub sensitivity: f64,
    /// How inspections see with these figures.
    pub detection: Detection,
}

impl Figures {
    /// The figures at a point.
    pub fn at(point: &Point, models: &Models) -> Self {
        let doubts = &models.doubts;
        let place = doubts.sensitivity * point[2];
        let ln_miss: [f64; Method::ALL.len()] = std::array::from_fn(|method| {
            let sensitivity = models.detection.methods[method].sensitivity;
            let [low, high] = models.sensitivity_range[method];
            let end = if place < 0.0 { low } else { high };
            // ln(1 - q) is a rate of being seen: a factor on it keeps every sensitivity between 0 and 1.
            let rate = |q: f64| -ln(1.0 - q);
            let span = ln(rate(end) / rate(sensitivity)).abs();
            -rate(sensitivity) * exp(place * span)
        });
        let hidden = models.detection.hidden_share;
        let odds = hidden / (1.0 - hidden) * exp(doubts.hidden_ln_odds * point[3]);
        let hidden_share = odds / (1.0 + odds);
        let reading = exp(doubts.reading_ln * point[4]);
        let methods = std::array::from_fn(|method| {
            let table: MethodDetection = models.detection.methods[method];
            MethodDetection {
                sensitivity: 1.0 - exp(ln_miss[method]),
                measure_sd_mm: table.measure_sd_mm.map(|sd| sd * reading),
                ..table
            }
        });
        Self {
            protected_shift: doubts.protected_mean * point[0],
            spread: exp(doubts.spread_ln * point[1]),
            ln_miss,
            reading,
            sensitivity: place,
            detection: Detection {
                methods,
                hidden_share,
            },
        }
    }

    /// One of the figures, as [`Nuisance::word`] says it; the table's where nodes do not differ in it.
    pub fn value(&self, of: Nuisance) -> f64 {
        match of {
            Nuisance::ProtectedShare => self.protected_shift,
            Nuisance::Spread => self.spread,
            Nuisance::Sensitivity => self.sensitivity,
            Nuisance::Hidden => self.detection.hidden_share,
            Nuisance::Reading => self.reading,
            Nuisance::AreaSpread => AREA_SD,
        }
    }

    /// A curve cell with these figures.
    pub fn applied(&self, cell: &Cell) -> Cell {
        let main = match cell.life.main {
            LifeCurve::Lognormal {
                median_years,
                ln_sd,
            } => LifeCurve::Lognormal {
                median_years,
                ln_sd: ln_sd * self.spread,
            },
            // Widened around its median: with the shape over the factor the scale keeps the median.
            LifeCurve::Weibull { shape, scale_years } => {
                let wider = shape / self.spread;
                let middle = std::f64::consts::LN_2;
                let median = scale_years * crate::maths::pow(middle, 1.0 / shape);
                LifeCurve::Weibull {
                    shape: wider,
                    scale_years: median / crate::maths::pow(middle, 1.0 / wider),
                }
            }
        };
        Cell {
            life: ServiceLife { main, ..cell.life },
            protected_mean: cell.protected_mean + self.protected_shift,
            ..*cell
        }
    }
}

/// What was learned of one uncertain figure: 5 %, 50 % and 95 % before and after, as [`Nuisance::word`] says it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Learned {
    /// Which.
    pub of: Nuisance,
    /// Published or proposed.
    pub prior: [f64; 3],
    /// With the owner's findings.
    pub posterior: [f64; 3],
    /// Whether the findings push it beyond the range that was looked at.
    pub pinned: bool,
}

impl Learned {
    /// What was learned of the spread between areas: the doubt of its logarithm, and the mean and standard deviation of its
    /// logarithm with the owner's findings, as a factor on the table's.
    pub(super) fn of_areas(doubt: f64, (mean, sd): (f64, f64)) -> Self {
        let at = |mean: f64, sd: f64| {
            [-NINETY_PER_CENT, 0.0, NINETY_PER_CENT].map(|z| AREA_SD * exp(mean + z * sd))
        };
        Self {
            of: Nuisance::AreaSpread,
            prior: at(0.0, doubt),
            posterior: at(mean, sd),
            pinned: false,
        }
    }
}

/// Greatest distance of the middle from the tables, in prior standard deviations; nodes lie a little beyond.
const REACH: f64 = 2.5;
/// Distance of a design's points from its middle, in the standard deviations of the fit that it mends.
const STEP: f64 = 1.25;
/// Points of a design with its middle and one coordinate at a time: those of two come after them.
const ALONE: usize = 1 + 2 * COORDINATES;
/// Longest step of one mend in each coordinate, and the least precision that it takes, in the same.
const LONGEST: f64 = 3.0;
const LEAST_PRECISION: f64 = 0.25;
/// Least pivot of a precision that counts as that of a normal distribution.
const LEAST_PIVOT: f64 = 0.1;

/// A normal distribution over points.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Fit {
    /// Its middle.
    pub middle: Point,
    /// A root: its product with its transpose is the covariance.
    pub root: [Point; COORDINATES],
    /// Whether the middle lies beyond [`REACH`].
    pub beyond: [bool; COORDINATES],
    /// Slopes of the answers in the fit's own standard deviations, the most important first.
    slopes: Vec<Point>,
}

impl Fit {
    /// The prior, which nothing has been learned from yet.
    pub(super) fn prior() -> Self {
        Self {
            middle: [0.0; COORDINATES],
            root: identity(),
            beyond: [false; COORDINATES],
            slopes: Vec::new(),
        }
    }

    /// The point so many of the fit's own standard deviations from its middle.
    fn point(&self, own: &Point) -> Point {
        let mut point = self.middle;
        for (value, row) in point.iter_mut().zip(&self.root) {
            *value += row.iter().zip(own).map(|(part, y)| part * y).sum::<f64>();
        }
        point
    }

    /// The points around a fit at which the posterior is asked for to mend it: its middle, one coordinate of its own to
    /// either side, two upwards at a time.
    pub(super) fn design(&self) -> Vec<Point> {
        let mut points = vec![self.middle];
        for one in 0..COORDINATES {
            for step in [STEP, -STEP] {
                let mut own = [0.0; COORDINATES];
                own[one] = step;
                points.push(self.point(&own));
            }
        }
        for one in 0..COORDINATES {
            for other in one + 1..COORDINATES {
                let mut own = [0.0; COORDINATES];
                own[one] = STEP;
                own[other] = STEP;
                points.push(self.point(&own));
            }
        }
        points
    }

    /// The first of them, which tell each coordinate by itself: enough to find the region.
    pub(super) fn cross(&self) -> Vec<Point> {
        let mut points = self.design();
        points.truncate(ALONE);
        points
    }

    /// The fit that a quadratic through the ln posteriors at the points of [`Fit::design`] or
    /// [`Fit::cross`] gives. `answers`: lists of what is
    /// asked for at the same points, the most important first.
    pub(super) fn mended(&self, ln_posterior: &[f64], answers: &[Vec<f64>]) -> Self {
        let (slope, bend) = quadratic(ln_posterior);
        // A posterior that bends upwards somewhere is no normal distribution: it is taken as at most twice as wide as before
        // in each direction, and its cross terms are taken back until it is one.
        let precision = |keep: f64| {
            let mut matrix: Matrix = vec![vec![0.0; COORDINATES]; COORDINATES];
            for (one, row) in matrix.iter_mut().enumerate() {
                for (other, value) in row.iter_mut().enumerate() {
                    *value = if one == other {
                        (-bend[one][one]).max(LEAST_PRECISION)
                    } else {
                        -keep * bend[one][other]
                    };
                }
            }
            matrix
        };
        let lower = [1.0, 0.8, 0.6, 0.4, 0.2, 0.0]
            .into_iter()
            .find_map(|keep| Root::of(&precision(keep), LEAST_PIVOT));
        // Without cross terms the precisions themselves are pivots, so that there is a root.
        let Some(lower) = lower else {
            return self.clone();
        };
        let own = point_of(&lower.solve(&slope)).map(|value| value.clamp(-LONGEST, LONGEST));
        let free = self.point(&own);
        // Columns of the inverse of the root's transpose are a root of the covariance.
        let columns = identity().map(|unit| point_of(&lower.solve_transposed(&unit)));
        let of_own: [Point; COORDINATES] =
            std::array::from_fn(|row| std::array::from_fn(|column| columns[column][row]));
        let mut root = [[0.0; COORDINATES]; COORDINATES];
        for (row, old) in root.iter_mut().zip(&self.root) {
            for (column, value) in row.iter_mut().enumerate() {
                *value = (0..COORDINATES).map(|k| old[k] * of_own[k][column]).sum();
            }
        }
        Self {
            middle: free.map(|value| value.clamp(-REACH, REACH)),
            root,
            beyond: free.map(|value| value.abs() > REACH),
            slopes: answers
                .iter()
                .map(|values| {
                    let (before, _) = quadratic(values);
                    std::array::from_fn(|column| {
                        (0..COORDINATES)
                            .map(|k| before[k] * of_own[k][column])
                            .sum()
                    })
                })
                .collect(),
        }
    }

    /// Directions at right angles in the fit's own standard deviations: first those in which the answers move, then
    /// coordinates in order.
    fn directions(&self) -> Vec<Point> {
        let mut directions: Vec<Point> = Vec::new();
        for wanted in self.slopes.iter().copied().chain(identity()) {
            if directions.len() == CORNERS[0].len() {
                break;
            }
            let size = f64::sqrt(inner(&wanted, &wanted));
            let mut rest = wanted.map(|part| if size > 0.0 { part / size } else { 0.0 });
            for known in &directions {
                let along = inner(&rest, known);
                for (part, own) in rest.iter_mut().zip(known) {
                    *part -= along * own;
                }
            }
            let left = f64::sqrt(inner(&rest, &rest));
            if left > LEAST_NEW {
                directions.push(rest.map(|part| part / left));
            }
        }
        directions
    }

    /// Equally likely points with the mean of the fit and, along the directions in which the answers move, its spread.
    pub(super) fn nodes(&self) -> Vec<Point> {
        let directions = self.directions();
        CORNERS
            .iter()
            .map(|corner| {
                let mut own = [0.0; COORDINATES];
                for (side, direction) in corner.iter().zip(&directions) {
                    for (value, part) in own.iter_mut().zip(direction) {
                        *value += side * part;
                    }
                }
                self.point(&own)
            })
            .collect()
    }
}

fn inner(one: &Point, other: &Point) -> f64 {
    one.iter().zip(other).map(|(a, b)| a * b).sum()
}

fn point_of(values: &[f64]) -> Point {
    std::array::from_fn(|one| values[one])
}

/// Slopes and bends at the middle, in the fit's own standard deviations.
fn quadratic(values: &[f64]) -> (Point, [Point; COORDINATES]) {
    let centre = values[0];
    let up = |one: usize| values[1 + 2 * one];
    let down = |one: usize| values[2 + 2 * one];
    let mut slope = [0.0; COORDINATES];
    let mut bend = [[0.0; COORDINATES]; COORDINATES];
    for one in 0..COORDINATES {
        slope[one] = (up(one) - down(one)) / (2.0 * STEP);
        bend[one][one] = (up(one) + down(one) - 2.0 * centre) / (STEP * STEP);
    }
    let pairs = (0..COORDINATES).flat_map(|one| (one + 1..COORDINATES).map(move |two| (one, two)));
    for ((one, other), value) in pairs.zip(&values[ALONE.min(values.len())..]) {
        let both = (value - up(one) - up(other) + centre) / (STEP * STEP);
        bend[one][other] = both;
        bend[other][one] = both;
    }
    (slope, bend)
}

fn identity() -> [Point; COORDINATES] {
    let mut matrix = [[0.0; COORDINATES]; COORDINATES];
    for (one, row) in matrix.iter_mut().enumerate() {
        row[one] = 1.0;
    }
    matrix
}

/// Four corners of a cube, a two-level orthogonal array: their mean is 0, their covariance the identity.
const CORNERS: [[f64; 3]; MOST_NODES] = [
    [-1.0, -1.0, 1.0],
    [1.0, -1.0, -1.0],
    [-1.0, 1.0, -1.0],
    [1.0, 1.0, 1.0],
];

/// Share of a direction that must be new beside those before it.
const LEAST_NEW: f64 = 0.05;

/// ln of the prior density of a point, up to a constant.
pub(super) fn ln_prior(point: &Point) -> f64 {
    -0.5 * point.iter().map(|z| z * z).sum::<f64>()
}

/// What was learned of each figure.
pub(super) fn learned(fit: &Fit, models: &Models) -> Vec<Learned> {
    let at = |one: usize, z: f64| {
        let mut point = [0.0; COORDINATES];
        point[one] = z;
        Figures::at(&point, models).value(Nuisance::ALL[one])
    };
    (0..COORDINATES)
        .map(|one| {
            let sd = f64::sqrt(inner(&fit.root[one], &fit.root[one]));
            Learned {
                of: Nuisance::ALL[one],
                prior: [-NINETY_PER_CENT, 0.0, NINETY_PER_CENT].map(|z| at(one, z)),
                posterior: [-NINETY_PER_CENT, 0.0, NINETY_PER_CENT]
                    .map(|z| at(one, fit.middle[one] + sd * z)),
                pinned: fit.beyond[one],
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nodes_have_the_mean_and_the_variance_of_any_straight_answer() {
        let fit = Fit {
            middle: [0.5, -1.0, 0.2, 0.0, 0.1],
            root: [
                [0.5, 0.0, 0.0, 0.0, 0.0],
                [0.2, 0.7, 0.0, 0.0, 0.0],
                [-0.3, 0.1, 0.6, 0.0, 0.0],
                [0.0, 0.2, 0.3, 0.9, 0.0],
                [0.1, 0.0, 0.0, 0.2, 1.0],
            ],
            // In own standard deviations: of an answer that moves with the 4th and 5th figure alone, the second with all.
            slopes: vec![[0.1, 0.2, 0.3, 1.1, 1.0], [1.0; COORDINATES]],
            beyond: [false; COORDINATES],
        };
        let answer = |point: &Point| point[3] + point[4];
        let nodes = fit.nodes();
        let mean = nodes.iter().map(answer).sum::<f64>() / 4.0;
        let variance = nodes
            .iter()
            .map(|point| (answer(point) - mean) * (answer(point) - mean))
            .sum::<f64>()
            / 4.0;
        // Slopes in own standard deviations are the sum of the 4th and 5th rows: variance 0.01 + 0.04 + 0.09 + 1.21 + 1.
        assert!(
            (mean - 0.1).abs() < 1e-12 && (variance - 2.35).abs() < 1e-12,
            "{mean} {variance}"
        );
    }

    /// ln evidence of a normal finding that ties the first two figures: -0.5 (z - m)' A (z - m).
    fn tied(point: &Point) -> f64 {
        let (x, y) = (point[0] - 0.5, point[1] + 0.3);
        -0.5 * (4.0 * x * x + 2.0 * 1.5 * x * y + 3.0 * y * y)
    }

    #[test]
    fn normal_evidence_and_a_normal_prior_give_the_textbook_answer() {
        let posterior = |point: &Point| tied(point) + ln_prior(point);
        let start = Fit::prior();
        let values: Vec<f64> = start.design().iter().map(posterior).collect();
        let fit = start.mended(&values, &[]);
        // Precision [[5, 1.5], [1.5, 4]], right side A m = [4 x 0.5 - 1.5 x 0.3, 1.5 x 0.5 - 3 x 0.3] = [1.55, -0.15]:
        // determinant 17.75, middle (4 x 1.55 + 1.5 x 0.15, -5 x 0.15 - 1.5 x 1.55) / 17.75 = (0.361972, -0.173239).
        assert!((fit.middle[0] - 0.361_972).abs() < 1e-6, "{fit:?}");
        assert!((fit.middle[1] + 0.173_239).abs() < 1e-6, "{fit:?}");
        let covariance =
            |one: usize, other: usize| -> f64 { inner(&fit.root[one], &fit.root[other]) };
        // Inverse of the precision: 4 / 17.75, 5 / 17.75, -1.5 / 17.75; nothing is known of the third.
        assert!((covariance(0, 0) - 0.225_352).abs() < 1e-6);
        assert!((covariance(1, 1) - 0.281_690).abs() < 1e-6);
        assert!((covariance(0, 1) + 0.084_507).abs() < 1e-6);
        assert!((covariance(2, 2) - 1.0).abs() < 1e-9);
        assert_eq!(fit.beyond, [false; COORDINATES]);
        // Asked again around the answer, the answer stays.
        let values: Vec<f64> = fit.design().iter().map(posterior).collect();
        let again = fit.mended(&values, &[]);
        for (one, other) in again.middle.iter().zip(&fit.middle) {
            assert!((one - other).abs() < 1e-9);
        }
    }

    #[test]
    fn evidence_far_from_the_tables_is_called_out() {
        let far = |point: &Point| -50.0 * (point[2] - 4.0) * (point[2] - 4.0) + ln_prior(point);
        let start = Fit::prior();
        let values: Vec<f64> = start.design().iter().map(far).collect();
        let fit = start.mended(&values, &[]);
        assert_eq!(fit.beyond, [false, false, true, false, false]);
        assert!((fit.middle[2] - REACH).abs() < 1e-12);
    }

    #[test]
    fn figures_at_the_tables_are_the_tables() {
        let models = crate::models::text::built_in().expect("valid models");
        let figures = Figures::at(&[0.0; COORDINATES], &models);
        assert!((figures.spread - 1.0).abs() < 1e-12 && figures.protected_shift.abs() < 1e-12);
        assert!((figures.detection.hidden_share - models.detection.hidden_share).abs() < 1e-12);
        for method in Method::ALL {
            let seen = 1.0 - exp(figures.ln_miss[method.index()]);
            assert!((seen - models.detection.of(method).sensitivity).abs() < 1e-12);
        }
        // The high end of a range lies 1.645 standard deviations up.
        let high = Figures::at(&[0.0, 0.0, NINETY_PER_CENT, 0.0, 0.0], &models);
        let method = Method::SoundAndBore;
        let seen = 1.0 - exp(high.ln_miss[method.index()]);
        assert!((seen - models.sensitivity_range[method.index()][1]).abs() < 1e-9);
    }
}
