//! Elementary functions and the normal distribution.
//!
//! The only file that calls ln, exp, pow and the error function. They come from `libm`, whose results are the same on
//! every platform, so that the same inputs and seed give the same bytes everywhere.

/// Natural logarithm.
pub fn ln(x: f64) -> f64 {
    libm::log(x)
}

/// Exponential.
pub fn exp(x: f64) -> f64 {
    libm::exp(x)
}

/// `exp(x) - 1`, exact for small `x`.
pub fn exp_m1(x: f64) -> f64 {
    libm::expm1(x)
}

/// `ln(1 + x)`, exact for small `x`.
pub fn ln_1p(x: f64) -> f64 {
    libm::log1p(x)
}

/// `x` to the power `y`.
pub fn pow(x: f64, y: f64) -> f64 {
    libm::pow(x, y)
}

/// Cube root.
pub fn cbrt(x: f64) -> f64 {
    libm::cbrt(x)
}

/// Sine and cosine of an angle in radians.
pub fn sin_cos(angle: f64) -> (f64, f64) {
    libm::sincos(angle)
}

/// Angle of a sine, radians.
pub fn asin(sine: f64) -> f64 {
    libm::asin(sine)
}

/// Natural logarithm of the gamma function, for positive `x`.
pub fn ln_gamma(x: f64) -> f64 {
    libm::lgamma(x)
}

/// Distribution function of the standard normal.
pub fn normal_cdf(z: f64) -> f64 {
    0.5 * libm::erfc(-z / std::f64::consts::SQRT_2)
}

/// Density of the standard normal.
pub fn normal_pdf(z: f64) -> f64 {
    0.398_942_280_401_432_7 * exp(-0.5 * z * z)
}

/// Quantile of the standard normal for a probability inside (0, 1); infinite at the ends.
///
/// Wichura's rational approximation (Algorithm AS 241, PPND16, Applied Statistics 37, 1988): relative error about 1e-16.
pub fn normal_quantile(p: f64) -> f64 {
    let q = p - 0.5;
    if q.abs() <= 0.425 {
        let r = 0.180_625 - q * q;
        return q * ratio(r, &CENTRE_TOP, &CENTRE_BOTTOM);
    }
    let tail = if q < 0.0 { p } else { 1.0 - p };
    if tail <= 0.0 {
        return if q < 0.0 {
            f64::NEG_INFINITY
        } else {
            f64::INFINITY
        };
    }
    let r = libm::sqrt(-ln(tail));
    let z = if r <= 5.0 {
        ratio(r - 1.6, &MIDDLE_TOP, &MIDDLE_BOTTOM)
    } else {
        ratio(r - 5.0, &FAR_TOP, &FAR_BOTTOM)
    };
    if q < 0.0 { -z } else { z }
}

/// Quotient of two polynomials, coefficients from the constant term upwards.
fn ratio(x: f64, top: &[f64; 8], bottom: &[f64; 8]) -> f64 {
    let value = |coefficients: &[f64; 8]| coefficients.iter().rev().fold(0.0, |sum, c| sum * x + c);
    value(top) / value(bottom)
}

const CENTRE_TOP: [f64; 8] = [
    3.387_132_872_796_366_5,
    133.141_667_891_784_38,
    1_971.590_950_306_551_3,
    13_731.693_765_509_46,
    45_921.953_931_549_87,
    67_265.770_927_008_7,
    33_430.575_583_588_13,
    2_509.080_928_730_122_7,
];
const CENTRE_BOTTOM: [f64; 8] = [
    1.0,
    42.313_330_701_600_91,
    687.187_007_492_057_9,
    5_394.196_021_424_751,
    21_213.794_301_586_597,
    39_307.895_800_092_71,
    28_729.085_735_721_943,
    5_226.495_278_852_854,
];
const MIDDLE_TOP: [f64; 8] = [
    1.423_437_110_749_683_5,
    4.630_337_846_156_546,
    5.769_497_221_460_691,
    3.647_848_324_763_204_5,
    1.270_458_252_452_368_4,
    0.241_780_725_177_450_6,
    0.022_723_844_989_269_184,
    7.745_450_142_783_414e-4,
];
const MIDDLE_BOTTOM: [f64; 8] = [
    1.0,
    2.053_191_626_637_759,
    1.676_384_830_183_803_8,
    0.689_767_334_985_1,
    0.148_103_976_427_480_08,
    0.015_198_666_563_616_457,
    5.475_938_084_995_345e-4,
    1.050_750_071_644_416_9e-9,
];
const FAR_TOP: [f64; 8] = [
    6.657_904_643_501_103,
    5.463_784_911_164_114,
    1.784_826_539_917_291_3,
    0.296_560_571_828_504_87,
    0.026_532_189_526_576_124,
    0.001_242_660_947_388_078_4,
    2.711_555_568_743_487_6e-5,
    2.010_334_399_292_288_1e-7,
];
const FAR_BOTTOM: [f64; 8] = [
    1.0,
    0.599_832_206_555_888,
    0.136_929_880_922_735_8,
    0.014_875_361_290_850_615,
    7.868_691_311_456_133e-4,
    1.846_318_317_510_054_7e-5,
    1.421_511_758_316_446e-7,
    2.044_263_103_389_939_8e-15,
];

/// The value below which the share `p` of the sorted values lies, interpolating between neighbours.
///
/// Returns `None` for an empty slice.
pub fn quantile_of_sorted(sorted: &[f64], p: f64) -> Option<f64> {
    let last = sorted.len().checked_sub(1)?;
    let place = p.clamp(0.0, 1.0) * last as f64;
    let below = place.floor() as usize;
    let above = (below + 1).min(last);
    Some(sorted[below] + (sorted[above] - sorted[below]) * (place - below as f64))
}

/// The means of a Poisson count between which `count` lies: above the lower one with probability `tail` or more, below
/// the upper one likewise (Garwood, "Fiducial limits for the Poisson distribution", Biometrika 28, 1936).
pub fn poisson_interval(count: u64, tail: f64) -> (f64, f64) {
    // The probability of at most `most` falls as the mean grows: halve until nothing is left to halve.
    let mean_where = |most: u64, wanted: f64| {
        let far = (count + 1) as f64;
        let (mut low, mut high) = (0.0, 10.0 * far + 100.0);
        for _ in 0..100 {
            let middle = f64::midpoint(low, high);
            if poisson_at_most(most, middle) > wanted {
                low = middle;
            } else {
                high = middle;
            }
        }
        f64::midpoint(low, high)
    };
    let low = count
        .checked_sub(1)
        .map_or(0.0, |below| mean_where(below, 1.0 - tail));
    (low, mean_where(count, tail))
}

/// Probability that a Poisson count of this mean is at most `most`.
fn poisson_at_most(most: u64, mean: f64) -> f64 {
    let log_mean = ln(mean);
    let mut log_factorial = 0.0;
    let mut sum = exp(-mean);
    for number in 1..=most {
        log_factorial += ln(number as f64);
        sum += exp(number as f64 * log_mean - mean - log_factorial);
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;
    use statrs::distribution::{Continuous, ContinuousCDF, Normal};

    /// Both sides are good to about 1e-15 relative; a looser bound would hide a wrong coefficient.
    const RELATIVE: f64 = 1e-12;

    #[test]
    fn the_normal_distribution_is_the_reference_librarys() {
        // Source: crate statrs, Normal distribution.
        let reference = Normal::new(0.0, 1.0).expect("a standard normal");
        for step in -60..=60 {
            let z = f64::from(step) / 10.0;
            assert!(
                (normal_cdf(z) - reference.cdf(z)).abs() < 1e-10 * reference.cdf(z),
                "{z}"
            );
            assert!(
                (normal_pdf(z) - reference.pdf(z)).abs() < RELATIVE * reference.pdf(z),
                "{z}"
            );
        }
    }

    #[test]
    fn the_quantile_undoes_the_distribution_function() {
        for step in -75..=75 {
            let z = f64::from(step) / 10.0;
            // Above 5 the probability itself is rounded to 1 - 1e-16 steps, so only the lower tail is exact.
            if z < 4.0 {
                assert!((normal_quantile(normal_cdf(z)) - z).abs() < 1e-9, "{z}");
            }
        }
        assert!(normal_quantile(0.0).is_infinite());
    }

    #[test]
    fn quantiles_interpolate_between_neighbours() {
        assert_eq!(quantile_of_sorted(&[1.0, 2.0, 4.0], 0.75), Some(3.0));
        assert_eq!(quantile_of_sorted(&[], 0.5), None);
    }

    #[test]
    fn poisson_intervals_are_those_of_the_tables() {
        // Half of the 5 % and 95 % quantiles of chi squared (Abramowitz and Stegun, table 26.8): 2 k degrees of freedom
        // below, 2 k + 2 above. For 0: 5.991 / 2; for 1: 0.1026 / 2 and 9.488 / 2; for 10: 10.85 / 2 and 33.92 / 2.
        for (count, low, high) in [(0, 0.0, 2.996), (1, 0.0513, 4.744), (10, 5.425, 16.96)] {
            let found = poisson_interval(count, 0.05);
            // Half of the tables' last digit.
            assert!(
                (found.0 - low).abs() < 0.005 && (found.1 - high).abs() < 0.005,
                "{found:?}"
            );
        }
    }
}
