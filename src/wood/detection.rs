//! What an inspection says about the wood: the curves of model section 2. The same curves serve the likelihood, the
//! denominator of the calibration and the trials.
//!
//! Knows progress and methods, nothing of the sizes that rules and readings are stated in: readings come in as
//! progress, with [`MethodDetection::measure_sd`] for their scatter.

use crate::maths::{normal_cdf, normal_pdf, pow};
use crate::pole::{Method, Mode};
use crate::units::Mm;
use crate::wood::section::progress_per_mm;

/// How well one method sees decay.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MethodDetection {
    /// Chance of finding decay that has just reached the reference limit.
    pub sensitivity: f64,
    /// Chance that a sound pole is called decayed.
    pub false_find: f64,
    /// Chance that decay found where there is none is judged below the limit.
    pub false_reject: f64,
    /// Standard deviation of a reading in millimetres, by [`Mode::index`].
    pub measure_sd_mm: [f64; Mode::ALL.len()],
    /// Standard deviation of an unmeasured verdict, in progress.
    pub verdict_sd: f64,
}

impl MethodDetection {
    /// Chance that decay of this progress is seen at all, false finds apart: `g(s) = 1 - (1 - q)^max(s, 0)`.
    #[inline]
    pub fn seen(&self, progress: f64) -> f64 {
        if progress <= 0.0 {
            return 0.0;
        }
        1.0 - pow(1.0 - self.sensitivity, progress)
    }

    /// Chance that the pole is called decayed: `f + (1 - f) g(s)`.
    pub fn found(&self, progress: f64) -> f64 {
        self.false_find + (1.0 - self.false_find) * self.seen(progress)
    }

    /// [`Self::found`] and [`Self::rejected`] together: what both need is worked out once.
    #[inline]
    pub fn found_and_rejected(&self, progress: f64, limit: f64) -> (f64, f64) {
        let truly = (1.0 - self.false_find) * self.seen(progress);
        let judged = if truly > 0.0 {
            normal_cdf((progress - limit) / self.verdict_sd)
        } else {
            0.0
        };
        let rejected = truly * judged + self.false_find * self.false_reject;
        (self.false_find + truly, rejected)
    }

    /// Chance that the pole is found decayed and judged below the limit, which lies at `limit` in progress:
    /// `(1 - f) g(s) Phi((s - limit) / sigma_v) + f f_c`.
    pub fn rejected(&self, progress: f64, limit: f64) -> f64 {
        self.found_and_rejected(progress, limit).1
    }

    /// Density of a reading `observed` (in progress) on a pole of this progress, `sd` the reading's in progress:
    /// `(1 - f) g(s) Normal(observed; s, sd) + f Uniform(observed; 0, 1)`.
    pub fn reading(&self, observed: f64, progress: f64, sd: f64) -> f64 {
        let true_find = normal_pdf((observed - progress) / sd) / sd;
        let false_find = f64::from(u8::from((0.0..=1.0).contains(&observed)));
        (1.0 - self.false_find) * self.seen(progress) * true_find + self.false_find * false_find
    }

    /// Standard deviation of a reading in progress: the same millimetres say less about a thinner pole.
    pub fn measure_sd(&self, mode: Mode, diameter: Mm) -> f64 {
        self.measure_sd_mm[mode.index()] * progress_per_mm(mode, diameter)
    }
}

/// Detection by every method, and what hides decay from several visits at once.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Detection {
    /// By [`Method::index`].
    pub methods: [MethodDetection; Method::ALL.len()],
    /// Share of poles whose decay is hidden from every method short of full excavation with boring.
    pub hidden_share: f64,
}

impl Detection {
    /// How well `method` sees.
    pub fn of(&self, method: Method) -> &MethodDetection {
        &self.methods[method.index()]
    }

    /// Whether hidden decay is hidden from `method`: from all but full excavation with boring.
    pub const fn hides_from(method: Method) -> bool {
        !matches!(method, Method::FullExcavation)
    }
}

/// Chance that a pole which is not below the limit is condemned all the same, from what owners know: the share of
/// condemned poles that prove sound, and the share of inspected poles condemned.
///
/// Of `N` poles `rate N` are condemned, `share rate N` of them wrongly, out of `N (1 - (1 - share) rate)` that are not
/// below the limit. A 30 % share at 3 % rejects is 0.0092 of the others, not 0.30.
pub fn wrongly_condemned(share_of_condemned: f64, reject_rate: f64) -> f64 {
    share_of_condemned * reject_rate / (1.0 - (1.0 - share_of_condemned) * reject_rate)
}

/// Chance that a false find is judged below the limit, so that false finds lead to as many wrong condemnations as are
/// known; `None` when the false finds are too few for that.
pub fn solve_false_reject(
    false_find: f64,
    share_of_condemned: f64,
    reject_rate: f64,
) -> Option<f64> {
    let condemned = wrongly_condemned(share_of_condemned, reject_rate);
    if condemned <= 0.0 {
        return Some(0.0);
    }
    (false_find >= condemned).then(|| condemned / false_find)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A few multiplications and one power: only rounding may differ.
    const ROUNDING: f64 = 1e-12;

    const BORING: MethodDetection = MethodDetection {
        sensitivity: 0.5,
        false_find: 0.03,
        false_reject: 0.3,
        measure_sd_mm: [2.8, 7.0],
        verdict_sd: 0.3,
    };

    #[test]
    fn decay_at_the_reference_limit_is_seen_with_the_sensitivity() {
        assert!((BORING.seen(1.0) - 0.5).abs() < ROUNDING);
        // Twice the progress: two independent chances, 1 - 0.5^2.
        assert!((BORING.seen(2.0) - 0.75).abs() < ROUNDING);
        assert!(BORING.seen(0.0).abs() < ROUNDING);
        assert!(BORING.seen(-3.0).abs() < ROUNDING);
        assert!((BORING.found(-3.0) - 0.03).abs() < ROUNDING);
        assert!((BORING.found(1.0) - 0.515).abs() < ROUNDING);
    }

    #[test]
    fn a_perfect_method_sees_all_decay_and_none_before_onset() {
        let perfect = MethodDetection {
            sensitivity: 1.0,
            ..BORING
        };
        assert!((perfect.seen(0.01) - 1.0).abs() < ROUNDING);
        assert!(perfect.seen(0.0).abs() < ROUNDING);
    }

    #[test]
    fn half_of_what_is_found_at_the_limit_is_rejected() {
        // (1 - 0.03) * 0.5 * 0.5 + 0.03 * 0.3 = 0.2515.
        assert!((BORING.rejected(1.0, 1.0) - 0.2515).abs() < ROUNDING);
        // Without a limit only the false finds are condemned.
        assert!((BORING.rejected(2.0, f64::INFINITY) - 0.009).abs() < ROUNDING);
    }

    #[test]
    fn every_reject_is_a_find() {
        for limit in [0.3, 1.0, 2.0] {
            for step in -10..=40 {
                let progress = f64::from(step) / 10.0;
                assert!(BORING.rejected(progress, limit) <= BORING.found(progress));
            }
        }
    }

    #[test]
    fn readings_integrate_to_the_chance_of_finding() {
        // Midpoint sum over -2..4 in steps of 0.001; the integrand jumps only at 0 and 1, which are cell edges.
        let progress = 0.8;
        let sum: f64 = (0..6000)
            .map(|k| BORING.reading(-2.0 + (f64::from(k) + 0.5) / 1000.0, progress, 0.15) / 1000.0)
            .sum();
        assert!((sum - BORING.found(progress)).abs() < 1e-6, "{sum}");
    }

    #[test]
    fn a_reading_of_2_8_mm_is_0_15_of_the_way_at_300_mm() {
        // 2.8 / (150 (1 - (2/3)^(1/3))) = 0.1477; inside 7 / 113.98 = 0.0614.
        assert!((BORING.measure_sd(Mode::External, Mm(300.0)) - 0.1477).abs() < 1e-4);
        assert!((BORING.measure_sd(Mode::Internal, Mm(300.0)) - 0.0614).abs() < 1e-4);
        assert!(
            BORING.measure_sd(Mode::External, Mm(200.0))
                > BORING.measure_sd(Mode::External, Mm(300.0))
        );
    }

    #[test]
    fn decay_hides_from_all_but_digging_all_round() {
        assert!(!Detection::hides_from(Method::FullExcavation));
        assert!(Detection::hides_from(Method::SoundAndBore));
    }

    #[test]
    fn a_share_of_condemned_poles_is_not_a_share_of_sound_poles() {
        // 0.30 * 0.03 / (1 - 0.70 * 0.03) = 0.009193.
        let chance = wrongly_condemned(0.30, 0.03);
        assert!((chance - 0.009_193).abs() < 1e-6);
        let false_reject = solve_false_reject(0.03, 0.30, 0.03).expect("enough false finds");
        assert!((0.03 * false_reject - chance).abs() < ROUNDING);
        assert_eq!(solve_false_reject(0.001, 0.30, 0.03), None);
        assert_eq!(solve_false_reject(0.0, 0.0, 0.03), Some(0.0));
    }
}
