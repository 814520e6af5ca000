//! Service-life curves: how likely a pole's decay has taken it to the reference limit by a given age.
//!
//! A [`LifeCurve`] is one distribution; a [`ServiceLife`] mixes it with the early failures of faulty treatment
//! (model section 1). One function defines a curve, its distribution function; everything else follows from it.

use crate::maths::{exp, ln, normal_cdf, normal_quantile, pow};

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
            Self::Weibull { shape, scale_years } => -libm::expm1(-pow(age / scale_years, shape)),
        }
    }

    /// Age by which the share `p` of lives has ended.
    pub fn quantile(self, p: f64) -> f64 {
        match self {
            Self::Lognormal {
                median_years,
                ln_sd,
            } => median_years * exp(ln_sd * normal_quantile(p)),
            Self::Weibull { shape, scale_years } => {
                scale_years * pow(-libm::log1p(-p), 1.0 / shape)
            }
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
