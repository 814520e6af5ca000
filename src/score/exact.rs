//! Exact intervals of shares and of counts: how far what was found can be chance.
//!
//! Knows numbers only. The incomplete beta function by its continued fraction (Abramowitz and Stegun, Handbook of
//! Mathematical Functions, 1964, 26.5.8) and the incomplete gamma function by its series and its continued fraction
//! (6.5.29, 6.5.31), evaluated by the method of Lentz (1976). Our own, because no library gives the same bytes on every
//! platform; held to one by tests.

use crate::maths::{exp, ln, ln_1p, ln_gamma};

/// Terms after which series and fractions have long converged, for counts up to millions.
const MOST_TERMS: u32 = 20_000;
/// Relative change at which they have.
const CONVERGED: f64 = 1e-15;
/// Stands in for a zero in Lentz's method.
const TINY: f64 = 1e-300;
/// Halvings of the interval in which a limit lies: more than a double has digits.
const HALVINGS: u32 = 64;

/// A lower and an upper limit.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Interval {
    /// Lower limit.
    pub low: f64,
    /// Upper limit.
    pub high: f64,
}

/// Share of `found` in `of`: the interval of Clopper and Pearson (1934), which holds the true share with at least the
/// probability `level`. 0 to 1 when there was nothing to look at.
pub fn share_interval(found: usize, of: usize, level: f64) -> Interval {
    let (k, n) = (found as f64, of as f64);
    let tail = (1.0 - level) / 2.0;
    Interval {
        // P(X >= k | p) rises with p and is I_p(k, n - k + 1); P(X <= k | p) is 1 - I_p(k + 1, n - k).
        low: if found == 0 {
            0.0
        } else {
            solve(0.0, 1.0, |p| incomplete_beta(k, n - k + 1.0, p) - tail)
        },
        high: if found >= of {
            1.0
        } else {
            solve(0.0, 1.0, |p| {
                incomplete_beta(k + 1.0, n - k, p) - (1.0 - tail)
            })
        },
    }
}

/// Mean of a Poisson count of which `count` was seen: the interval of Garwood (1936), which holds the true mean with at
/// least the probability `level`.
pub fn count_interval(count: u64, level: f64) -> Interval {
    let k = count as f64;
    let tail = (1.0 - level) / 2.0;
    let far = k + 12.0 * (k + 1.0).sqrt() + 40.0;
    Interval {
        // P(X >= k | mean) is the lower incomplete gamma function of k.
        low: if count == 0 {
            0.0
        } else {
            solve(0.0, far, |mean| incomplete_gamma(k, mean) - tail)
        },
        high: solve(0.0, far, |mean| {
            incomplete_gamma(k + 1.0, mean) - (1.0 - tail)
        }),
    }
}

/// Chance of at most `found` of `of` when each is found with probability `share`.
pub fn at_most(found: usize, of: usize, share: f64) -> f64 {
    if found >= of {
        return 1.0;
    }
    1.0 - incomplete_beta(
        found as f64 + 1.0,
        (of - found) as f64,
        share.clamp(0.0, 1.0),
    )
}

/// Where a rising function crosses zero between `low` and `high`.
fn solve(mut low: f64, mut high: f64, rising: impl Fn(f64) -> f64) -> f64 {
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        if rising(middle) < 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

/// The regularised incomplete beta function `I_x(a, b)`, `a` and `b` above 0.
pub fn incomplete_beta(a: f64, b: f64, x: f64) -> f64 {
    if x <= 0.0 || x >= 1.0 {
        return f64::from(u8::from(x >= 1.0));
    }
    // The fraction converges fast below the mean; above it the mirrored one does.
    if x > (a + 1.0) / (a + b + 2.0) {
        1.0 - beta_below_mean(b, a, 1.0 - x)
    } else {
        beta_below_mean(a, b, x)
    }
}

fn beta_below_mean(a: f64, b: f64, x: f64) -> f64 {
    let ln_front = ln_gamma(a + b) - ln_gamma(a) - ln_gamma(b) + a * ln(x) + b * ln_1p(-x);
    let term = |number: u32| {
        let m = f64::from(number / 2);
        let twice = 2.0 * m;
        if number == 0 {
            1.0
        } else if number.is_multiple_of(2) {
            m * (b - m) * x / ((a + twice - 1.0) * (a + twice))
        } else {
            -(a + m) * (a + b + m) * x / ((a + twice) * (a + twice + 1.0))
        }
    };
    exp(ln_front) / a * fraction(0.0, term, |_| 1.0)
}

/// The regularised lower incomplete gamma function `P(a, x)`, `a` above 0.
pub fn incomplete_gamma(a: f64, x: f64) -> f64 {
    if x <= 0.0 {
        return 0.0;
    }
    let front = exp(a * ln(x) - x - ln_gamma(a));
    if x < a + 1.0 {
        let mut part = 1.0 / a;
        let mut sum = part;
        for step in 1..MOST_TERMS {
            part *= x / (a + f64::from(step));
            sum += part;
            if part < sum * CONVERGED {
                break;
            }
        }
        return front * sum;
    }
    let top = |number: u32| {
        let m = f64::from(number);
        if number == 0 { 1.0 } else { -m * (m - a) }
    };
    1.0 - front * fraction(0.0, top, |number| x + 2.0 * f64::from(number) + 1.0 - a)
}

/// The continued fraction `start + top(0) / (bottom(0) + top(1) / (bottom(1) + ...))`.
fn fraction(start: f64, top: impl Fn(u32) -> f64, bottom: impl Fn(u32) -> f64) -> f64 {
    let not_zero = |value: f64| if value.abs() < TINY { TINY } else { value };
    let mut value = not_zero(start);
    let (mut upper, mut lower) = (value, 0.0);
    for number in 0..MOST_TERMS {
        let (a, b) = (top(number), bottom(number));
        lower = 1.0 / not_zero(b + a * lower);
        upper = not_zero(b + a / upper);
        let change = upper * lower;
        value *= change;
        if (change - 1.0).abs() < CONVERGED {
            break;
        }
    }
    value
}

/// How many of some independent chances come true: the probabilities of 0, 1, 2 and so on, by adding one chance after
/// another. The time grows with the square of their number.
pub fn counts_of(chances: impl IntoIterator<Item = f64>) -> Vec<f64> {
    let mut counts = vec![1.0];
    for chance in chances {
        counts.push(0.0);
        for count in (1..counts.len()).rev() {
            counts[count] = counts[count] * (1.0 - chance) + counts[count - 1] * chance;
        }
        counts[0] *= 1.0 - chance;
    }
    counts
}

/// The least count that is not exceeded with at least probability `level`.
pub fn count_quantile(counts: &[f64], level: f64) -> usize {
    // Sums of many small numbers may end a hair below 1.
    let mut left = level - 1e-12;
    for (count, probability) in counts.iter().enumerate() {
        left -= probability;
        if left <= 0.0 {
            return count;
        }
    }
    counts.len().saturating_sub(1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use statrs::function::{beta::beta_reg, gamma::gamma_lr};

    /// Both sides are good to about 1e-12 for the arguments of counts.
    const AGREED: f64 = 1e-9;

    #[test]
    fn the_incomplete_functions_are_the_reference_librarys() {
        // Source: crate statrs, functions beta_reg and gamma_lr.
        for a in [0.5, 1.0, 3.0, 40.0, 700.0, 30_000.0] {
            for b in [0.5, 2.0, 55.0, 12_000.0] {
                for x in [1e-6, 0.01, 0.3, 0.5, 0.77, 0.999] {
                    let there = beta_reg(a, b, x);
                    assert!(
                        (incomplete_beta(a, b, x) - there).abs() < AGREED,
                        "{a} {b} {x}"
                    );
                }
            }
            for share in [0.01, 0.5, 0.9, 1.0, 1.1, 3.0] {
                let there = gamma_lr(a, a * share);
                assert!(
                    (incomplete_gamma(a, a * share) - there).abs() < AGREED,
                    "{a} {share}"
                );
            }
        }
    }

    #[test]
    fn intervals_are_the_printed_ones() {
        // No find in 10: the upper 95 % limit is 1 - 0.025^(1/10) = 0.30850.
        let none = share_interval(0, 10, 0.95);
        assert!(
            none.low.abs() < AGREED && (none.high - 0.308_497_1).abs() < 1e-6,
            "{none:?}"
        );
        // 4 of 20: 0.0573 to 0.4366 (Clopper and Pearson 1934; recomputed from the beta quantiles).
        let four = share_interval(4, 20, 0.95);
        assert!(
            (four.low - 0.057_334).abs() < 1e-5 && (four.high - 0.436_614).abs() < 1e-5,
            "{four:?}"
        );
        assert!((share_interval(10, 10, 0.95).low - 0.691_502_9).abs() < 1e-6);
        // Garwood 1936: none seen gives 0 to -ln 0.025 = 3.68888; 10 seen 4.79539 to 18.39036.
        assert!((count_interval(0, 0.95).high - 3.688_879).abs() < 1e-5);
        let ten = count_interval(10, 0.95);
        assert!(
            (ten.low - 4.795_389).abs() < 1e-5 && (ten.high - 18.390_356).abs() < 1e-5,
            "{ten:?}"
        );
    }

    #[test]
    fn a_count_of_unlike_chances_has_the_binomials_quantiles_where_they_are_alike() {
        // Of 40 with chance 0.1 each: the terms of the binomial distribution.
        let counts = counts_of([0.1; 40]);
        let mut sum = 0.0;
        for (count, probability) in counts.iter().enumerate() {
            sum += probability;
            assert!((sum - at_most(count, 40, 0.1)).abs() < AGREED, "{count}");
        }
        // P(at most 1) = 0.0805, P(at most 2) = 0.2228; P(at most 5) = 0.7937, P(at most 6) = 0.9005.
        assert_eq!(count_quantile(&counts, 0.1), 2);
        assert_eq!(count_quantile(&counts, 0.9), 6);
        // 1/2 and 1/4: none 3/8, one 1/2, both 1/8.
        assert_eq!(counts_of([0.5, 0.25]), [0.375, 0.5, 0.125]);
        assert_eq!(count_quantile(&counts_of([1.0, 1.0]), 1.0), 2);
        assert_eq!(count_quantile(&counts_of([]), 0.9), 0);
    }

    #[test]
    fn a_cumulative_chance_is_the_sum_of_its_terms() {
        // Of 3 with share 0.5: (1 + 3) / 8.
        assert!((at_most(1, 3, 0.5) - 0.5).abs() < AGREED);
        assert!((at_most(0, 40, 0.1) - 0.9_f64.powi(40)).abs() < AGREED);
        assert!((at_most(5, 5, 0.9) - 1.0).abs() < AGREED);
    }
}
