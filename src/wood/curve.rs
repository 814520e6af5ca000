//! Service-life curves: how likely a pole's decay has taken it to the reference limit by a given age.
//!
//! A [`LifeCurve`] is one distribution; a [`ServiceLife`] mixes it with the early failures of faulty treatment
//! (model section 1). One function defines a curve, its distribution function; everything else follows from it.

use crate::maths::{exp, exp_m1, ln, ln_1p, normal_cdf, normal_quantile, pow};

/// One distribution of service lives, on ages in years for a pole of the reference diameter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum LifeCurve {
    /// `ln T` is normal around `ln median_years` with standard deviation `ln_sd`.
    Lognormal {
        /// Median life.
        median_years: f64,
        /// Standard deviation of the logarithm of life between poles.
        ln_sd: f64,
    },
    /// Survival `exp(-(t / scale_years)^shape)`.
    Weibull {
        /// Shape.
        shape: f64,
        /// Scale.
        scale_years: f64,
    },
}

impl LifeCurve {
    /// Probability of a life of at most `age` years.
    pub fn cdf(self, age: f64) -> f64 {
        if age <= 0.0 {
            return 0.0;
        }
        match self {
            Self::Lognormal {
                median_years,
                ln_sd,
            } => normal_cdf(ln(age / median_years) / ln_sd),
            Self::Weibull { shape, scale_years } => -exp_m1(-pow(age / scale_years, shape)),
        }
    }

    /// Age by which the share `p` of lives has ended.
    pub fn quantile(self, p: f64) -> f64 {
        match self {
            Self::Lognormal {
                median_years,
                ln_sd,
            } => median_years * exp(ln_sd * normal_quantile(p)),
            Self::Weibull { shape, scale_years } => scale_years * pow(-ln_1p(-p), 1.0 / shape),
        }
    }

    /// The curve with all lives multiplied by `factor`.
    #[must_use]
    pub fn stretched(self, factor: f64) -> Self {
        match self {
            Self::Lognormal {
                median_years,
                ln_sd,
            } => Self::Lognormal {
                median_years: median_years * factor,
                ln_sd,
            },
            Self::Weibull { shape, scale_years } => Self::Weibull {
                shape,
                scale_years: scale_years * factor,
            },
        }
    }
}

/// A life curve mixed with the small share of early failures (treating faults).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ServiceLife {
    /// The curve of properly treated poles.
    pub main: LifeCurve,
    /// Share of poles that fail early.
    pub early_share: f64,
    /// The curve of those.
    pub early: LifeCurve,
}

impl ServiceLife {
    /// Probability of a life of at most `age` years, when the owner's poles of this kind last `exp(shift)` times as
    /// long as published. Early failures come from faults, not from climate or soil, and do not shift.
    pub fn cdf(&self, age: f64, shift: f64) -> f64 {
        let main = self.main.stretched(exp(shift)).cdf(age);
        (1.0 - self.early_share) * main + self.early_share * self.early.cdf(age)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use statrs::distribution::{ContinuousCDF, LogNormal, Weibull};

    /// Both sides compute the same closed forms; statrs' own error function is good to about 1e-11.
    const ORACLE: f64 = 1e-10;

    const CURVES: [LifeCurve; 2] = [
        LifeCurve::Lognormal {
            median_years: 48.0,
            ln_sd: 0.5,
        },
        LifeCurve::Weibull {
            shape: 2.94,
            scale_years: 54.4,
        },
    ];

    #[test]
    fn the_curves_are_the_reference_librarys() {
        // Source: crate statrs, LogNormal and Weibull.
        let lognormal = LogNormal::new(48.0_f64.ln(), 0.5).expect("a lognormal");
        let weibull = Weibull::new(2.94, 54.4).expect("a Weibull");
        for age in 0..150 {
            let age = f64::from(age);
            assert!(
                (CURVES[0].cdf(age) - lognormal.cdf(age)).abs() < ORACLE,
                "{age}"
            );
            assert!(
                (CURVES[1].cdf(age) - weibull.cdf(age)).abs() < ORACLE,
                "{age}"
            );
        }
    }

    #[test]
    fn the_quantile_undoes_the_distribution_function() {
        for curve in CURVES {
            for step in 1..100 {
                let p = f64::from(step) / 100.0;
                assert!(
                    (curve.cdf(curve.quantile(p)) - p).abs() < 1e-12,
                    "{curve:?} {p}"
                );
            }
        }
    }

    #[test]
    fn a_stretched_curve_stretches_every_age() {
        for curve in CURVES {
            assert!((curve.stretched(1.5).cdf(60.0) - curve.cdf(40.0)).abs() < 1e-12);
        }
    }

    #[test]
    fn early_failures_do_not_shift_with_the_fleet() {
        let life = ServiceLife {
            main: CURVES[0],
            early_share: 0.02,
            early: LifeCurve::Lognormal {
                median_years: 8.0,
                ln_sd: 0.6,
            },
        };
        // At 8 years half of the early failures are over and the main curve has hardly begun:
        // 0.02 / 2 + 0.98 Phi(ln(8 / 48) / 0.5) = 0.01 + 0.98 * 0.000170 = 0.010166.
        assert!((life.cdf(8.0, 0.0) - 0.010_166).abs() < 1e-6);
        let longer = life.cdf(8.0, 10.0);
        assert!((longer - 0.01).abs() < 1e-12, "{longer}");
        assert!(life.cdf(0.0, 0.0).abs() < 1e-15);
    }
}
