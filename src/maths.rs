//! Elementary functions and the normal distribution.
//!
//! The only file that calls ln, exp, pow and the error function. What beliefs and trials ask for millions of times is
//! computed here by polynomials that the compiler can put in line: sums and products of 64-bit numbers alone, never fused,
//! so that the same inputs and seed give the same bytes on every machine and instruction set. The rest, and arguments at
//! the ends of the range, come from `libm`, which is as portable; tests hold the one to the other.

/// `2^52 + 2^51`: adding it rounds to a whole number, which then stands in the lowest bits.
const ROUNDER: f64 = 6_755_399_441_055_744.0;
/// The upper 20 bits of ln 2, so that a product with a whole number below 2,048 is exact; and the rest.
const LN_2_HIGH: f64 = 0.693_146_705_627_441_4;
const LN_2_LOW: f64 = 4.749_325_039_031_672_6e-7;

/// Where `exp` neither overflows nor loses bits.
const EXP_RANGE: f64 = 708.0;

/// `(exp(r) - 1 - r) / r^2` for `r` up to half of ln 2: the polynomial through ten Chebyshev nodes, 2e-17 of the result.
const EXP_TERMS: [f64; 10] = [
    0.500_000_000_000_000_1,
    0.166_666_666_666_666_69,
    0.041_666_666_666_624_13,
    0.008_333_333_333_330_062,
    0.001_388_888_891_721_371_7,
    1.984_126_986_305_361_8e-4,
    2.480_152_129_595_437_6e-5,
    2.755_726_845_999_706_4e-6,
    2.762_008_844_540_974_6e-7,
    2.510_038_549_551_032e-8,
];

/// `(ln((1 + s) / (1 - s)) / s - 2) / s^2` as a polynomial in `s^2`, through seven Chebyshev nodes: 1e-17 of the result.
const LN_TERMS: [f64; 7] = [
    0.666_666_666_666_667,
    0.399_999_999_998_994_44,
    0.285_714_286_260_032_7,
    0.222_222_111_302_598_78,
    0.181_828_894_556_749_47,
    0.153_317_106_182_107_73,
    0.146_165_854_248_886_23,
];

/// Bits of a number a hair below the root of 1/2: mantissas are taken from there to the root of 2.
const ROOT_OF_HALF: u64 = 0x3fe6_a09e_0000_0000;
/// Bits of the mantissa.
const MANTISSA: u64 = 0x000f_ffff_ffff_ffff;
/// Bits of the least number that has all of its mantissa, and how many positive numbers have.
const LEAST_NORMAL: u64 = 0x0010_0000_0000_0000;
const NORMAL_NUMBERS: u64 = 0x7fe0_0000_0000_0000;

/// Standard deviations of a normal distribution to each side that hold 90 % of it.
pub const NINETY_PER_CENT: f64 = 1.644_853_626_951_472_7;

/// Natural logarithm: within 2 units of the last place of the true value.
#[inline]
pub fn ln(x: f64) -> f64 {
    let bits = x.to_bits();
    if bits.wrapping_sub(LEAST_NORMAL) >= NORMAL_NUMBERS {
        return libm::log(x);
    }
    // x = 2^k (1 + f), ln(1 + f) from s = f / (2 + f), as every good library does it.
    let shifted = bits.wrapping_sub(ROOT_OF_HALF);
    let k = ((shifted as i64) >> 52) as f64;
    let f = f64::from_bits((shifted & MANTISSA).wrapping_add(ROOT_OF_HALF)) - 1.0;
    let half_square = 0.5 * f * f;
    let s = f / (2.0 + f);
    let z = s * s;
    let z2 = z * z;
    let [a, b, c, d, e, g, h] = LN_TERMS;
    let rest = z * ((a + z * b) + z2 * ((c + z * d) + z2 * ((e + z * g) + z2 * h)));
    k * LN_2_HIGH - ((half_square - (s * (half_square + rest) + k * LN_2_LOW)) - f)
}

/// Exponential: within 2 units of the last place of the true value.
#[inline]
pub fn exp(x: f64) -> f64 {
    if x.abs() < EXP_RANGE {
        exp_in_range(x)
    } else {
        libm::exp(x)
    }
}

/// [`exp`] of a number of which it is known that it lies within [`EXP_RANGE`]: no branch, so that loops become vectors.
#[inline]
fn exp_in_range(x: f64) -> f64 {
    let shifted = x * std::f64::consts::LOG2_E + ROUNDER;
    let n = shifted - ROUNDER;
    let r = (x - n * LN_2_HIGH) - n * LN_2_LOW;
    let r2 = r * r;
    let r4 = r2 * r2;
    let [a, b, c, d, e, f, g, h, i, j] = EXP_TERMS;
    let first = (a + r * b) + r2 * (c + r * d);
    let second = (e + r * f) + r2 * (g + r * h);
    let terms = first + r4 * (second + r4 * (i + r * j));
    let mantissa = 1.0 + (r + r2 * terms);
    f64::from_bits(mantissa.to_bits().wrapping_add(shifted.to_bits() << 52))
}

/// [`exp`] of several numbers at once; numbers below -708 count as that, 3e-308, and those above 708 likewise.
#[inline]
pub fn exp_each<const N: usize>(mut numbers: [f64; N]) -> [f64; N] {
    for x in &mut numbers {
        *x = exp_in_range(x.clamp(-EXP_RANGE, EXP_RANGE));
    }
    numbers
}

/// Sum of the products of two lists of equal length. Eight sums run side by side, which is as fast as memory allows.
#[inline]
pub fn dot(one: &[f64], other: &[f64]) -> f64 {
    const LANES: usize = 8;
    let mut sums = [0.0; LANES];
    let (whole, rest) = one.as_chunks::<LANES>();
    let (whole_other, rest_other) = other.as_chunks::<LANES>();
    for (a, b) in whole.iter().zip(whole_other) {
        for lane in 0..LANES {
            sums[lane] += a[lane] * b[lane];
        }
    }
    let rest: f64 = rest.iter().zip(rest_other).map(|(a, b)| a * b).sum();
    let [a, b, c, d, e, f, g, h] = sums;
    ((a + e) + (b + f)) + ((c + g) + (d + h)) + rest
}

/// `exp(x) - 1`, exact for small `x`.
pub fn exp_m1(x: f64) -> f64 {
    libm::expm1(x)
}

/// `ln(1 + x)`, exact for small `x`.
pub fn ln_1p(x: f64) -> f64 {
    libm::log1p(x)
}

/// `x` to the power `y`: `exp(y ln x)`, whose relative error is `2e-16 (2 + |y ln x|)`.
#[inline]
pub fn pow(x: f64, y: f64) -> f64 {
    if x > 0.0 && x.is_finite() {
        exp(y * ln(x))
    } else {
        libm::pow(x, y)
    }
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

/// Standard deviations up to which [`normal_cdf`] is a quotient of polynomials; its tail is off by 5e-11 of itself there.
const CDF_RANGE: f64 = 5.0;

/// Numerator and denominator of the tail over the density, from the highest power down (Hart and others, "Computer
/// Approximations", 1968, number 5666, as printed by West, "Better approximations to cumulative normal functions",
/// Wilmott, 2005).
const TAIL_TOP: [f64; 7] = [
    0.035_262_496_599_891_1,
    0.700_383_064_443_688,
    6.373_962_203_531_65,
    33.912_866_078_383,
    112.079_291_497_871,
    221.213_596_169_931,
    220.206_867_912_376,
];
const TAIL_BOTTOM: [f64; 8] = [
    0.088_388_347_648_318_4,
    1.755_667_163_182_64,
    16.064_177_579_207,
    86.780_732_202_946_1,
    296.564_248_779_674,
    637.333_633_378_831,
    793.826_512_519_948,
    440.413_735_824_752,
];

/// Distribution function of the standard normal: within 1e-15, and a tail within 5e-11 of itself.
#[inline]
pub fn normal_cdf(z: f64) -> f64 {
    let far = z.abs();
    if far < CDF_RANGE {
        let [a, b, c, d, e, f, g] = TAIL_TOP;
        let top = (((((a * far + b) * far + c) * far + d) * far + e) * far + f) * far + g;
        let [a, b, c, d, e, f, g, h] = TAIL_BOTTOM;
        let bottom =
            ((((((a * far + b) * far + c) * far + d) * far + e) * far + f) * far + g) * far + h;
        let tail = exp_in_range(-0.5 * far * far) * top / bottom;
        if z > 0.0 { 1.0 - tail } else { tail }
    } else {
        0.5 * libm::erfc(-z / std::f64::consts::SQRT_2)
    }
}

/// Density of the standard normal.
#[inline]
pub fn normal_pdf(z: f64) -> f64 {
    0.398_942_280_401_432_7 * exp(-0.5 * z * z)
}

/// Quantile of the standard normal for a probability inside (0, 1); infinite at the ends.
///
/// Wichura's rational approximation (Algorithm AS 241, PPND16, Applied Statistics 37, 1988): relative error about 1e-16.
#[inline]
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
#[inline]
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

    /// Units of the last place between two numbers of one sign.
    fn units_apart(one: f64, other: f64) -> u64 {
        one.to_bits().abs_diff(other.to_bits())
    }

    /// Both this file's and libm's functions promise to be within about one unit of the last place of the true value.
    const UNITS: u64 = 2;

    /// What the tail of the normal distribution may be off by, of itself: its coefficients have 15 digits.
    const TAIL: f64 = 5e-11;

    /// Numbers from `low` to `high` that are no round ones: multiples of the golden ratio, modulo the range.
    fn spread(low: f64, high: f64) -> impl Iterator<Item = f64> {
        (1..200_000).map(move |step| {
            low + (high - low) * (f64::from(step) * 0.618_033_988_749_894_9).fract()
        })
    }

    #[test]
    fn exponentials_and_logarithms_are_the_portable_librarys() {
        for x in spread(-700.0, 700.0)
            .chain(spread(-2.0, 2.0))
            .chain(spread(-1e-6, 1e-6))
        {
            assert!(units_apart(exp(x), libm::exp(x)) <= UNITS, "exp {x}");
        }
        for x in spread(1e-300, 1e-290)
            .chain(spread(0.0, 4.0))
            .chain(spread(0.99, 1.01))
        {
            assert!(units_apart(ln(x), libm::log(x)) <= UNITS, "ln {x}");
        }
        for x in [f64::NEG_INFINITY, -800.0, -745.0, 709.0, 1e9, f64::INFINITY] {
            assert_eq!(exp(x).to_bits(), libm::exp(x).to_bits(), "{x}");
        }
        assert_eq!(exp(0.0).to_bits(), 1.0_f64.to_bits());
        assert_eq!(ln(1.0).to_bits(), 0.0_f64.to_bits());
        assert!(exp(f64::NAN).is_nan() && ln(f64::NAN).is_nan() && ln(-1.0).is_nan());
        for x in [0.0, 5e-324, 1e-310, f64::INFINITY] {
            assert_eq!(ln(x).to_bits(), libm::log(x).to_bits(), "{x}");
        }
    }

    #[test]
    fn several_at_once_are_what_they_are_one_by_one() {
        let numbers: Vec<f64> = spread(-700.0, 700.0).take(803).collect();
        for eight in numbers.chunks_exact(8) {
            let eight: [f64; 8] = std::array::from_fn(|place| eight[place]);
            let bits = |numbers: [f64; 8]| numbers.map(f64::to_bits);
            assert_eq!(bits(exp_each(eight)), bits(eight.map(exp)));
        }
        assert!(exp_each([f64::NEG_INFINITY])[0] < 1e-300);
        // Whole numbers: no sum rounds.
        let (one, other): (Vec<f64>, Vec<f64>) =
            (0..83).map(|n| (f64::from(n), f64::from(n % 7))).unzip();
        let expected: f64 = (0..83).map(|n| f64::from(n * (n % 7))).sum();
        assert_eq!(dot(&one, &other).to_bits(), expected.to_bits());
    }

    #[test]
    fn powers_and_the_normal_distribution_are_the_portable_librarys() {
        for x in spread(1e-3, 30.0) {
            for y in [-2.0, 0.25, 1.0, 2.94, 9.0] {
                let error = 2.3e-16 * (2.0 + (y * libm::log(x)).abs());
                let true_value = libm::pow(x, y);
                assert!(
                    (pow(x, y) - true_value).abs() <= error * true_value,
                    "{x}^{y}"
                );
            }
        }
        assert_eq!(pow(0.0, 0.25).to_bits(), 0.0_f64.to_bits());
        assert_eq!(pow(1.0, 1e9).to_bits(), 1.0_f64.to_bits());
        for z in spread(-8.0, 8.0) {
            let true_value = 0.5 * libm::erfc(-z / std::f64::consts::SQRT_2);
            let error = (normal_cdf(z) - true_value).abs();
            assert!(error < 1e-15 && error <= TAIL * true_value, "{z}: {error}");
        }
        assert!(normal_cdf(f64::NAN).is_nan());
        assert_eq!(normal_cdf(f64::NEG_INFINITY).to_bits(), 0.0_f64.to_bits());
        assert_eq!(normal_cdf(f64::INFINITY).to_bits(), 1.0_f64.to_bits());
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
