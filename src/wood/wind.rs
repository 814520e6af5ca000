//! Failure in wind: a pole fails in the year whose strongest wind exceeds what its wood still bears (model section 5).
//!
//! The year's strongest wind speed `V` is Gumbel distributed, 1 at the 50-year return level; the pressure is `W = V^2`;
//! a pole of strength ratio `c` and remaining strength `rho` fails when `W u > c rho`, `u` being the design wind
//! moment over the mean capacity when new. The rate of the yearly probability `p` is `-ln(1 - p)`, which for a Gumbel
//! maximum is exactly `exp(-(sqrt(c rho / u) - mode) / scale)`. Where nothing is left of the wood this is finite but
//! out of all proportion (about 2,900 a year): such a pole does not stand through a year.
//!
//! Integrals over progress are tabulated once, because beliefs ask for them millions of times.

use crate::maths::{exp, exp_each, ln, ln_1p, normal_quantile};
use crate::pole::Mode;
use crate::wood::clock::Aging;
use crate::wood::section::{progress_of_nothing_left, remaining_strength_at};

/// Coefficient of variation of the year's strongest wind speed: proposed (judgement), no source.
pub const WIND_COV: f64 = 0.15;

/// Return period of the design wind, years.
const RETURN_PERIOD: f64 = 50.0;

/// The Euler-Mascheroni constant: mean of the standard Gumbel distribution.
const EULER: f64 = 0.577_215_664_901_532_9;

/// Standard deviation of the standard Gumbel distribution over pi: `1 / sqrt(6)`.
const GUMBEL_SD_OVER_PI: f64 = 0.408_248_290_463_863;

/// Nodes of the strength ratio in averages over it.
pub const RATIO_NODES: usize = 8;

/// Positive nodes and their weights of the Gauss-Hermite rule of 8 points for a standard normal: the roots of the
/// Hermite polynomial He8, weights `1 / (8 he7(z)^2)` with the orthonormal polynomial `he7`.
const NODES: [(f64, f64); RATIO_NODES / 2] = [
    (0.539_079_811_351_375_1, 0.373_012_257_679_077_64),
    (1.636_519_042_435_108_2, 0.117_239_907_661_758_96),
    (2.802_485_861_287_541_6, 0.009_635_220_120_788_27),
    (4.144_547_186_125_894, 0.000_112_614_538_375_368_36),
];

/// Steps of progress from onset to nothing left, in each mode.
const PROGRESS_STEPS: usize = 512;

/// Steps of the root of the strength ratio, in which the logarithm of the hazard is straight.
const RATIO_STEPS: usize = 32;

/// Standard deviations of the logarithm of the strength ratio that the table spans on either side.
const RATIO_REACH: f64 = 6.0;

/// The Gumbel distribution of a year's largest value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gumbel {
    /// Most likely value.
    pub mode: f64,
    /// Scale.
    pub scale: f64,
}

impl Gumbel {
    /// The distribution with this mean and coefficient of variation (fit of moments).
    pub fn of_mean(mean: f64, cov: f64) -> Self {
        let scale = cov * mean / (GUMBEL_SD_OVER_PI * std::f64::consts::PI);
        Self {
            mode: mean - EULER * scale,
            scale,
        }
    }

    /// The distribution whose value of return period `years` is 1.
    pub fn of_return_level(years: f64, cov: f64) -> Self {
        let unit = Self::of_mean(1.0, cov);
        Self::of_mean(1.0 / unit.return_level(years), cov)
    }

    /// Value exceeded with probability `1 / years` in a year.
    pub fn return_level(self, years: f64) -> f64 {
        self.quantile(1.0 - 1.0 / years)
    }

    /// Value not exceeded with probability `p`.
    pub fn quantile(self, p: f64) -> f64 {
        self.mode - self.scale * ln(-ln(p))
    }

    /// Yearly rate at which `value` is exceeded: `-ln` of the probability that it is not.
    #[inline]
    pub fn rate_above(self, value: f64) -> f64 {
        exp((self.mode - value) / self.scale)
    }
}

/// Integrals of the hazard over progress in one mode, from onset.
#[derive(Debug, Clone, PartialEq)]
struct Table {
    /// Progress at which nothing is left: the end of the table.
    end: f64,
    /// At each step of progress: the integrals for the nodes of the strength ratio.
    nodes: Vec<[f64; RATIO_NODES]>,
    /// At each step of progress: the logarithm of the mean hazard since onset, for the steps of the ratio's root.
    mean_ln: Vec<[f64; RATIO_STEPS + 1]>,
}

/// Yearly failure hazards and their integrals over decay progress, tabulated.
#[derive(Debug, Clone, PartialEq)]
pub struct FailureHazard {
    /// Design wind moment over the mean capacity of a new pole.
    pub use_of_capacity: f64,
    /// Coefficient of variation of strength between poles.
    pub strength_cov: f64,
    wind: Gumbel,
    /// Standard deviation of the logarithm of the strength ratio.
    ln_sd: f64,
    /// Strength ratios of the nodes, in rising order, and their weights.
    ratios: [f64; RATIO_NODES],
    weights: [f64; RATIO_NODES],
    /// Hazards of a sound pole at the nodes.
    sound: [f64; RATIO_NODES],
    /// Root of the least strength ratio of the table, and one over its step.
    least_root: f64,
    roots_per_unit: f64,
    /// Hazard where nothing is left.
    nothing_left: f64,
    /// By [`Mode::index`].
    tables: [Table; Mode::ALL.len()],
}

impl FailureHazard {
    /// The tables for a design use of capacity and a strength scatter, both above 0 (anything else is taken as a
    /// millionth).
    pub fn new(use_of_capacity: f64, strength_cov: f64) -> Self {
        let use_of_capacity = use_of_capacity.max(1e-6);
        let strength_cov = strength_cov.max(1e-6);
        let wind = Gumbel::of_return_level(RETURN_PERIOD, WIND_COV);
        let ln_sd = ln_1p(strength_cov * strength_cov).sqrt();
        let ratio = |z: f64| exp(ln_sd * (z - 0.5 * ln_sd));
        let hazard = |ratio: f64, remaining: f64| {
            wind.rate_above((ratio * remaining / use_of_capacity).sqrt())
        };

        let mut ratios = [0.0; RATIO_NODES];
        let mut weights = [0.0; RATIO_NODES];
        for (place, (z, weight)) in NODES.into_iter().enumerate() {
            let (below, above) = (RATIO_NODES / 2 - 1 - place, RATIO_NODES / 2 + place);
            (ratios[below], ratios[above]) = (ratio(-z), ratio(z));
            (weights[below], weights[above]) = (weight, weight);
        }
        let least_root = ratio(-RATIO_REACH).sqrt();
        let step = (ratio(RATIO_REACH).sqrt() - least_root) / RATIO_STEPS as f64;
        let grid: [f64; RATIO_STEPS + 1] = std::array::from_fn(|place| {
            let root = least_root + step * place as f64;
            root * root
        });
        Self {
            use_of_capacity,
            strength_cov,
            wind,
            ln_sd,
            ratios,
            weights,
            sound: ratios.map(|ratio| hazard(ratio, 1.0)),
            least_root,
            roots_per_unit: 1.0 / step,
            nothing_left: hazard(1.0, 0.0),
            tables: Mode::ALL.map(|mode| Table {
                end: progress_of_nothing_left(mode),
                nodes: integrals(mode, &ratios, hazard),
                mean_ln: mean_logarithms(mode, &grid, hazard),
            }),
        }
    }

    /// Yearly hazard of a pole whose strength is `ratio` times the mean and whose remaining strength is `remaining`.
    #[inline]
    pub fn yearly(&self, ratio: f64, remaining: f64) -> f64 {
        self.wind
            .rate_above((ratio * remaining.max(0.0) / self.use_of_capacity).sqrt())
    }

    /// Mean yearly hazard over the strength ratios of poles with this remaining strength.
    pub fn mean_yearly(&self, remaining: f64) -> f64 {
        self.ratio_nodes()
            .map(|(ratio, weight)| weight * self.yearly(ratio, remaining))
            .sum()
    }

    /// Nodes of the strength ratio in rising order, with weights that sum to 1 (Gauss-Hermite in its logarithm): the
    /// nodes of [`Self::cumulative_at_nodes`].
    pub fn ratio_nodes(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        self.ratios.into_iter().zip(self.weights)
    }

    /// Cumulative hazard to an age for a pole of strength ratio `ratio`: `onset` years sound, then decay to `progress`
    /// at `years_to_reference` years a unit of progress.
    #[inline]
    pub fn cumulative(
        &self,
        mode: Mode,
        ratio: f64,
        age: f64,
        onset: f64,
        years_to_reference: f64,
    ) -> f64 {
        let sound = self.yearly(ratio, 1.0);
        if age <= onset {
            return sound * age.max(0.0);
        }
        let progress = (age - onset) / years_to_reference;
        sound * onset.max(0.0) + years_to_reference * self.integral(mode, ratio, progress)
    }

    /// Integral of the hazard over progress from onset (0 before it), for a pole of strength ratio `ratio`.
    #[inline]
    fn integral(&self, mode: Mode, ratio: f64, progress: f64) -> f64 {
        let table = &self.tables[mode.index()];
        let inside = progress.clamp(0.0, table.end);
        let (step, part) = table.place(inside);
        let (lower, upper) = (&table.mean_ln[step], &table.mean_ln[step + 1]);
        let place = (ratio.sqrt() - self.least_root) * self.roots_per_unit;
        let column = (place.max(0.0) as usize).min(RATIO_STEPS - 1);
        let share = place - column as f64;
        let at =
            |row: &[f64; RATIO_STEPS + 1]| row[column] + (row[column + 1] - row[column]) * share;
        let mean = exp(at(lower) + (at(upper) - at(lower)) * part).min(self.nothing_left);
        mean * inside + (progress.max(0.0) - inside) * self.nothing_left
    }

    /// [`Self::cumulative`] through calendar time with treatments and reinforcement, to `years` after the plan date.
    ///
    /// Hazards run through the calendar, decay on its own clock: a piece of calendar time in which progress goes from
    /// `s1` to `s2` counts its years times the mean hazard between the two. A reinforced groundline bears what a sound
    /// one does.
    #[inline]
    pub fn cumulative_through(&self, pole: &Aging<'_>, ratio: f64, years: f64) -> f64 {
        let wood = &pole.wood;
        if pole.is_plain() {
            let (onset, rate) = (wood.onset(), wood.years_to_reference());
            return self.cumulative(wood.mode, ratio, pole.age + years, onset, rate);
        }
        let sound = self.yearly(ratio, 1.0);
        let until_onset = sound * (pole.age + years.min(pole.onset())).max(0.0);
        let decayed = pole.pieces(years).into_iter().map(|piece| {
            let [start, end] = piece.progress;
            if piece.braced || end <= start {
                return sound * piece.years;
            }
            let gone =
                self.integral(wood.mode, ratio, end) - self.integral(wood.mode, ratio, start);
            piece.years * gone / (end - start)
        });
        until_onset + decayed.sum::<f64>()
    }

    /// Cumulative hazards to an age at the nodes of the strength ratio ([`Self::ratio_nodes`]).
    #[inline]
    pub fn cumulative_at_nodes(
        &self,
        mode: Mode,
        age: f64,
        onset: f64,
        years_to_reference: f64,
    ) -> [f64; RATIO_NODES] {
        if age <= onset {
            return self.sound.map(|hazard| hazard * age.max(0.0));
        }
        let integrals = self.integral_at_nodes(mode, (age - onset) / years_to_reference);
        let onset = onset.max(0.0);
        let mut cumulative = [0.0; RATIO_NODES];
        for node in 0..RATIO_NODES {
            cumulative[node] = self.sound[node] * onset + years_to_reference * integrals[node];
        }
        cumulative
    }

    /// Integrals of the hazard over progress from onset (0 before it) at the nodes of the strength ratio.
    #[inline]
    fn integral_at_nodes(&self, mode: Mode, progress: f64) -> [f64; RATIO_NODES] {
        let table = &self.tables[mode.index()];
        let progress = progress.max(0.0);
        let inside = progress.min(table.end);
        let beyond = (progress - inside) * self.nothing_left;
        let (step, part) = table.place(inside);
        let (lower, upper) = (&table.nodes[step], &table.nodes[step + 1]);
        let mut integrals = [0.0; RATIO_NODES];
        for node in 0..RATIO_NODES {
            integrals[node] = lower[node] + (upper[node] - lower[node]) * part + beyond;
        }
        integrals
    }

    /// Probability that a pole of unknown strength ratio stands `years` after the plan date, with treatments and
    /// reinforcement ([`Self::cumulative_through`]).
    #[inline]
    pub fn standing_through(&self, pole: &Aging<'_>, years: f64) -> f64 {
        let wood = &pole.wood;
        if pole.is_plain() {
            let (onset, rate) = (wood.onset(), wood.years_to_reference());
            return self.standing(wood.mode, pole.age + years, onset, rate);
        }
        self.standing_through_pieces(pole, years)
    }

    fn standing_through_pieces(&self, pole: &Aging<'_>, years: f64) -> f64 {
        let wood = &pole.wood;
        let until_onset = (pole.age + years.min(pole.onset())).max(0.0);
        let mut cumulative = self.sound.map(|hazard| hazard * until_onset);
        for piece in pole.pieces(years) {
            let [start, end] = piece.progress;
            let gone = (!piece.braced && end > start).then(|| {
                (
                    self.integral_at_nodes(wood.mode, start),
                    self.integral_at_nodes(wood.mode, end),
                )
            });
            for node in 0..RATIO_NODES {
                cumulative[node] += match &gone {
                    Some((before, after)) => {
                        piece.years * (after[node] - before[node]) / (end - start)
                    }
                    None => piece.years * self.sound[node],
                };
            }
        }
        self.mean_survival(cumulative)
    }

    /// Probability that a pole of unknown strength ratio stands to an age.
    #[inline]
    pub fn standing(&self, mode: Mode, age: f64, onset: f64, years_to_reference: f64) -> f64 {
        self.mean_survival(self.cumulative_at_nodes(mode, age, onset, years_to_reference))
    }

    /// Mean of `exp(-hazard)` over the nodes of the strength ratio. Most poles that are asked for are sound, and for
    /// hazards as small as theirs three terms of the series are exact to 3e-9 and far quicker. The weakest has most.
    #[inline]
    fn mean_survival(&self, cumulative: [f64; RATIO_NODES]) -> f64 {
        const SMALL: f64 = 0.016;
        let survival = if cumulative[0] < SMALL {
            cumulative.map(|hazard| 1.0 - hazard * (1.0 - hazard * (0.5 - hazard * (1.0 / 6.0))))
        } else {
            exp_each(cumulative.map(|hazard| -hazard))
        };
        let mut standing = 0.0;
        for (weight, survival) in self.weights.iter().zip(survival) {
            standing += weight * survival;
        }
        // The weights sum to 1 but for rounding.
        standing.min(1.0)
    }

    /// Strongest wind pressure of a year (1: the 50-year value) from a uniform draw.
    #[inline]
    pub fn strongest_wind(&self, uniform: f64) -> f64 {
        let speed = self.wind.quantile(uniform).max(0.0);
        speed * speed
    }

    /// Whether a pole fails in a year of this wind pressure.
    #[inline]
    pub fn fails(&self, wind: f64, ratio: f64, remaining: f64) -> bool {
        wind * self.use_of_capacity > ratio * remaining
    }

    /// The strength ratio of a pole from a uniform draw: lognormal with mean 1.
    #[inline]
    pub fn strength_ratio(&self, uniform: f64) -> f64 {
        exp(self.ln_sd * (normal_quantile(uniform) - 0.5 * self.ln_sd))
    }
}

impl Table {
    /// The step below a progress within the table, and the part of the way to the next.
    #[inline]
    fn place(&self, progress: f64) -> (usize, f64) {
        let place = progress / self.end * PROGRESS_STEPS as f64;
        let step = (place as usize).min(PROGRESS_STEPS - 1);
        (step, place - step as f64)
    }
}

/// Integrals of the hazard from onset to each step of progress, for several strength ratios: Simpson's rule a step.
fn integrals<const N: usize>(
    mode: Mode,
    ratios: &[f64; N],
    hazard: impl Fn(f64, f64) -> f64,
) -> Vec<[f64; N]> {
    let step = progress_of_nothing_left(mode) / PROGRESS_STEPS as f64;
    let at = |progress: f64| {
        let remaining = remaining_strength_at(mode, progress);
        ratios.map(|ratio| hazard(ratio, remaining))
    };
    let mut sums = [0.0; N];
    let mut rows = vec![sums];
    let mut left = at(0.0);
    for place in 0..PROGRESS_STEPS {
        let middle = at(step * (place as f64 + 0.5));
        let right = at(step * (place as f64 + 1.0));
        for (column, sum) in sums.iter_mut().enumerate() {
            *sum += step / 6.0 * (left[column] + 4.0 * middle[column] + right[column]);
        }
        rows.push(sums);
        left = right;
    }
    rows
}

/// Logarithms of the mean hazard between onset and each step of progress, for several strength ratios.
fn mean_logarithms<const N: usize>(
    mode: Mode,
    ratios: &[f64; N],
    hazard: impl Fn(f64, f64) -> f64,
) -> Vec<[f64; N]> {
    let step = progress_of_nothing_left(mode) / PROGRESS_STEPS as f64;
    let mut rows = integrals(mode, ratios, &hazard);
    rows[0] = ratios.map(|ratio| ln(hazard(ratio, 1.0)));
    for (place, row) in rows.iter_mut().enumerate().skip(1) {
        *row = row.map(|integral| ln(integral / (step * place as f64)));
    }
    rows
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Design use of capacity and strength scatter of the defaults.
    const USE: f64 = 0.35;
    const COV: f64 = 0.20;

    /// The quality that beliefs need: no probability off by more than 0.005; a tenth of that leaves room for the rest.
    const PROBABILITY: f64 = 5e-4;

    /// A table of 512 straight pieces against the integral: its step is below 0.016 in progress, on which the hazard
    /// changes by under 6 %, so a piece is off by under a thousandth of it.
    const TABLE: f64 = 2e-3;

    fn hazard() -> FailureHazard {
        FailureHazard::new(USE, COV)
    }

    /// The integral of the hazard to an age, by 20,000 midpoints.
    fn by_hand(
        hazard: &FailureHazard,
        mode: Mode,
        ratio: f64,
        age: f64,
        onset: f64,
        pace: f64,
    ) -> f64 {
        let steps = 20_000;
        let width = age / f64::from(steps);
        (0..steps)
            .map(|step| {
                let progress = ((f64::from(step) + 0.5) * width - onset) / pace;
                width * hazard.yearly(ratio, remaining_strength_at(mode, progress))
            })
            .sum()
    }

    #[test]
    fn treatments_and_braces_count_in_the_calendar() {
        // Onset at 30 of 50 years, 40 at the plan date; an agent acts from year -5 to 3, a brace from 6 to 16. By hand:
        // the hazard at every one of 20,000 moments to year 25, where wood is 9.5 past the limit's 20 years of decay.
        let mut upkeep = crate::wood::Upkeep::default();
        let stretch = |from, until| crate::wood::Stretch { from, until };
        upkeep.treat(Mode::External, stretch(-5.0, 3.0));
        upkeep.brace(stretch(6.0, 16.0));
        let pole = Aging {
            wood: crate::wood::Wood {
                life: 50.0,
                protected: 0.6,
                mode: Mode::External,
                diameter: crate::units::Mm(300.0),
            },
            age: 40.0,
            upkeep: &upkeep,
            factor: 0.5,
        };
        let hazard = hazard();
        let steps = 20_000;
        for years in [-20.0, 0.0, 5.0, 12.0, 25.0] {
            let width = (pole.age + years) / f64::from(steps);
            let by_hand = |ratio: f64| -> f64 {
                (0..steps)
                    .map(|step| (f64::from(step) + 0.5) * width - pole.age)
                    .map(|at| {
                        let left = if upkeep.is_braced(at) {
                            1.0
                        } else {
                            remaining_strength_at(Mode::External, pole.progress(at))
                        };
                        width * hazard.yearly(ratio, left)
                    })
                    .sum()
            };
            for ratio in [0.7, 1.0, 1.2] {
                let (table, hand) = (
                    hazard.cumulative_through(&pole, ratio, years),
                    by_hand(ratio),
                );
                assert!(
                    (table / hand - 1.0).abs() < 4.0 * TABLE,
                    "{years} {ratio}: {table} {hand}"
                );
            }
            let nodes: f64 = hazard
                .ratio_nodes()
                .map(|(ratio, weight)| weight * exp(-by_hand(ratio)))
                .sum();
            let standing = hazard.standing_through(&pole, years);
            assert!(
                (standing - nodes).abs() < 1e-3,
                "{years}: {standing} {nodes}"
            );
        }
    }

    #[test]
    fn the_design_wind_is_the_50_year_wind() {
        let wind = Gumbel::of_return_level(RETURN_PERIOD, WIND_COV);
        assert!((wind.return_level(50.0) - 1.0).abs() < 1e-12);
        assert!((hazard().strongest_wind(0.98) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn the_mean_hazards_are_those_of_the_model() {
        // The model states 3e-5 a year for a sound pole and about 1e-3 at the limit. Averages over 3,600 points of the
        // normal, computed apart: 3.2152e-5 and 7.4642e-4.
        let hazard = hazard();
        assert!((hazard.mean_yearly(1.0) / 3.2152e-5 - 1.0).abs() < 1e-4);
        assert!((hazard.mean_yearly(2.0 / 3.0) / 7.4642e-4 - 1.0).abs() < 1e-4);
    }

    #[test]
    fn the_nodes_are_those_of_a_normal() {
        // Weights sum to 1, the second and fourth moments of a standard normal are 1 and 3.
        let moment = |power: i32| -> f64 {
            NODES
                .iter()
                .map(|(z, weight)| 2.0 * weight * z.powi(power))
                .sum()
        };
        assert!((moment(0) - 1.0).abs() < 1e-12);
        assert!((moment(2) - 1.0).abs() < 1e-12);
        assert!((moment(4) - 3.0).abs() < 1e-12);
        let mean: f64 = hazard()
            .ratio_nodes()
            .map(|(ratio, weight)| ratio * weight)
            .sum();
        assert!((mean - 1.0).abs() < 1e-9, "{mean}");
    }

    #[test]
    fn the_table_is_the_integral() {
        let hazard = hazard();
        for mode in Mode::ALL {
            for ratio in [0.5, 0.8, 1.0, 1.3, 1.7] {
                for age in [3.0, 25.0, 31.0, 50.0, 70.0, 100.0] {
                    let exact = by_hand(&hazard, mode, ratio, age, 30.0, 20.0);
                    let table = hazard.cumulative(mode, ratio, age, 30.0, 20.0);
                    let error = (table - exact).abs() / exact;
                    // The hazard jumps by a factor of a million where a hollow meets the outside; there the midpoints
                    // are the coarser of the two, and both say that nothing stands.
                    assert!(
                        error < TABLE || exact.min(table) > 50.0,
                        "{mode:?} {ratio} {age}: {error}"
                    );
                }
            }
        }
    }

    #[test]
    fn standing_is_the_average_over_strengths() {
        let hazard = hazard();
        for mode in Mode::ALL {
            for age in [10.0, 30.0, 45.0, 60.0, 80.0] {
                let (mut sum, mut weights) = (0.0, 0.0);
                for step in -60..=60 {
                    let z = f64::from(step) / 10.0;
                    let ratio = exp(hazard.ln_sd * (z - 0.5 * hazard.ln_sd));
                    let weight = exp(-0.5 * z * z);
                    sum += weight * exp(-by_hand(&hazard, mode, ratio, age, 30.0, 20.0));
                    weights += weight;
                }
                let exact = sum / weights;
                let standing = hazard.standing(mode, age, 30.0, 20.0);
                assert!(
                    (standing - exact).abs() < PROBABILITY,
                    "{mode:?} {age}: {standing} {exact}"
                );
            }
        }
    }

    #[test]
    fn a_years_failures_are_right_to_a_hundredth() {
        // Beliefs need yearly increments to 5 %; the reference averages over 121 strengths and 20,000 midpoints.
        let hazard = hazard();
        let exact = |mode, age| {
            let (mut sum, mut weights) = (0.0, 0.0);
            for step in -60..=60 {
                let z = f64::from(step) / 10.0;
                let ratio = exp(hazard.ln_sd * (z - 0.5 * hazard.ln_sd));
                let weight = exp(-0.5 * z * z);
                sum += weight * exp(-by_hand(&hazard, mode, ratio, age, 30.0, 20.0));
                weights += weight;
            }
            sum / weights
        };
        for (mode, ages) in [
            (Mode::External, [35.0, 50.0, 70.0]),
            (Mode::Internal, [35.0, 45.0, 52.0]),
        ] {
            for age in ages {
                let expected = exact(mode, age) - exact(mode, age + 1.0);
                let found = hazard.standing(mode, age, 30.0, 20.0)
                    - hazard.standing(mode, age + 1.0, 30.0, 20.0);
                assert!(
                    (found / expected - 1.0).abs() < 0.01,
                    "{mode:?} {age}: {found} {expected}"
                );
            }
        }
    }

    #[test]
    fn standing_never_rises_and_ends() {
        let hazard = hazard();
        for mode in Mode::ALL {
            let mut before = 1.0;
            for age in 0..400 {
                let now = hazard.standing(mode, f64::from(age), 25.0, 15.0);
                assert!(now <= before, "{mode:?} {age}");
                before = now;
            }
            assert!(before < 1e-12, "{mode:?} {before}");
            assert!((hazard.standing(mode, -5.0, 25.0, 15.0) - 1.0).abs() < 1e-12);
        }
    }

    #[test]
    fn drawn_winds_fail_poles_at_the_yearly_hazard() {
        // A uniform grid of winds stands for all years: the share that fails is 1 - exp(-hazard), to a grid step.
        let hazard = hazard();
        let years = 1_000_000_u32;
        for (ratio, remaining) in [(1.0, 0.5), (0.7, 0.66), (1.0, 0.1)] {
            let failed = (0..years)
                .filter(|year| {
                    let uniform = (f64::from(*year) + 0.5) / f64::from(years);
                    hazard.fails(hazard.strongest_wind(uniform), ratio, remaining)
                })
                .count();
            let expected = -libm::expm1(-hazard.yearly(ratio, remaining));
            let share = failed as f64 / f64::from(years);
            assert!(
                (share - expected).abs() <= 1.0 / f64::from(years),
                "{share} {expected}"
            );
        }
        assert!(hazard.fails(hazard.strongest_wind(1e-9), 1.0, 0.0));
    }

    #[test]
    fn drawn_strengths_have_mean_one_and_the_given_scatter() {
        let hazard = hazard();
        let n = 100_000;
        let draws = (0..n).map(|k| hazard.strength_ratio((f64::from(k) + 0.5) / f64::from(n)));
        let mean = draws.clone().sum::<f64>() / f64::from(n);
        let variance = draws.map(|c| (c - 1.0) * (c - 1.0)).sum::<f64>() / f64::from(n);
        // 100,000 midpoints of the distribution function miss only its outermost tails.
        assert!((mean - 1.0).abs() < 1e-5, "{mean}");
        assert!((variance.sqrt() - COV).abs() < 1e-4, "{variance}");
    }
}
