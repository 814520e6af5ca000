//! What a forecast must beat to be worth its name: a life curve of age alone, and a constant yearly rate.
//!
//! The age curve is a Weibull life: the chance that a pole which passed a look at age `b` is found below the limit at
//! age `a` is `1 - S(a) / S(b)`, `S(t) = exp(-(t / scale)^shape)`. A constant rate is the same with shape 1. Both are
//! fitted by maximum likelihood to nothing but ages and verdicts, and both reckon like the forecast that rejects leave
//! the list. Knows neither wood nor methods.

use crate::maths::{exp, exp_m1, ln, pow};

/// Where the search for the best curve begins, and what little is said of curves before any verdict is seen: a scale of
/// 60 years and a shape of 3, each within a factor of 2 (proposed; worth about one verdict). Without it a list without
/// a single reject would give a curve at infinity.
const FIRST_GUESS: [f64; 2] = [60.0, 3.0];
const GUESS_LN_SD: f64 = std::f64::consts::LN_2;

/// First step of the search and the step at which it ends, in logarithms.
const FIRST_STEP: f64 = 0.4;
const LAST_STEP: f64 = 1e-4;

/// One look at a pole, as the age alone sees it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Look {
    /// Age at the look, years.
    pub age: f64,
    /// Age at the last look that the pole passed; 0 when there was none.
    pub passed: f64,
    /// Chance that the pole would still be in the list today if this look had condemned it.
    pub still_listed: f64,
    /// Whether it was judged below the limit.
    pub rejected: bool,
}

/// What is left free when a curve is fitted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Free {
    /// Scale and shape: an age curve.
    ScaleAndShape,
    /// The scale, at shape 1: a constant yearly rate.
    Scale,
}

/// A life curve of age alone.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct AgeCurve {
    /// Scale, years.
    pub scale: f64,
    /// Shape; 1 is a constant yearly rate.
    pub shape: f64,
}

/// The looks at one pole, oldest first, up to the first that condemned it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct History {
    /// Those whose verdict is known.
    pub known: Vec<Look>,
    /// Later ones, of which only the day is known.
    pub later: Vec<Look>,
}

impl AgeCurve {
    /// The curve most likely to give the known verdicts, of poles that are all still listed.
    pub fn of_histories(histories: &[History], free: Free) -> Self {
        Self::most_likely(free, |curve| {
            histories
                .iter()
                .map(|history| curve.ln_likelihood(history))
                .sum()
        })
    }

    /// The curve that would have forecast these verdicts best: each with the looks from it on.
    pub fn of_outcomes(outcomes: &[(Vec<Look>, bool)], free: Free) -> Self {
        Self::most_likely(free, |curve| {
            let given = |(looks, rejected): &(Vec<Look>, bool)| {
                let chance = curve.chance_if_listed(looks);
                if *rejected { chance } else { 1.0 - chance }
            };
            outcomes.iter().map(|outcome| ln_of(given(outcome))).sum()
        })
    }

    fn most_likely(free: Free, ln_likelihood: impl Fn(&Self) -> f64) -> Self {
        let curve_at = |at: [f64; 2]| Self {
            scale: exp(at[0]),
            shape: match free {
                Free::ScaleAndShape => exp(at[1]),
                Free::Scale => 1.0,
            },
        };
        let worth = |at: [f64; 2]| {
            let [scale, shape] =
                [0, 1].map(|axis: usize| (at[axis] - ln(FIRST_GUESS[axis])) / GUESS_LN_SD);
            ln_likelihood(&curve_at(at)) - 0.5 * (scale * scale + shape * shape)
        };
        curve_at(highest(FIRST_GUESS.map(ln), worth))
    }

    /// Chance that this look condemns the pole.
    pub fn chance(&self, look: &Look) -> f64 {
        let used = |age: f64| pow(age.max(0.0) / self.scale, self.shape);
        -exp_m1(used(look.passed) - used(look.age.max(look.passed)))
    }

    /// Chance that the first of these looks condemned a pole which has had all of them and is still listed.
    pub fn chance_if_listed(&self, looks: &[Look]) -> f64 {
        let Some((first, rest)) = looks.split_first() else {
            return 0.0;
        };
        let chance = self.chance(first);
        let condemned = chance * first.still_listed;
        let all = condemned + (1.0 - chance) * self.listed(rest.iter());
        if all > 0.0 { condemned / all } else { 0.0 }
    }

    /// Chance that a pole is still listed after these looks.
    fn listed<'a>(&self, looks: impl Iterator<Item = &'a Look>) -> f64 {
        let (mut passed, mut condemned) = (1.0, 0.0);
        for look in looks {
            let chance = self.chance(look);
            condemned += passed * chance * look.still_listed;
            passed *= 1.0 - chance;
        }
        passed + condemned
    }

    fn ln_likelihood(&self, history: &History) -> f64 {
        let verdicts = history.known.iter().map(|look| {
            let chance = self.chance(look);
            ln_of(if look.rejected { chance } else { 1.0 - chance })
        });
        let condemned = history.known.iter().any(|look| look.rejected);
        let since = if condemned {
            1.0
        } else {
            self.listed(history.later.iter())
        };
        let all = history.known.iter().chain(&history.later);
        verdicts.sum::<f64>() + ln_of(since) - ln_of(self.listed(all))
    }
}

/// The logarithm of a chance that may have been rounded to nothing.
fn ln_of(chance: f64) -> f64 {
    ln(chance.max(f64::MIN_POSITIVE))
}

/// The place of the highest value: steps along the axes, halved when none of them climbs.
fn highest(start: [f64; 2], height: impl Fn([f64; 2]) -> f64) -> [f64; 2] {
    let (mut at, mut best) = (start, height(start));
    let mut step = FIRST_STEP;
    while step > LAST_STEP {
        let mut climbed = false;
        for (x, y) in [
            (1.0, 0.0),
            (-1.0, 0.0),
            (0.0, 1.0),
            (0.0, -1.0),
            (1.0, -1.0),
            (-1.0, 1.0),
        ] {
            let next = [at[0] + step * x, at[1] + step * y];
            let value = height(next);
            if value > best {
                (at, best, climbed) = (next, value, true);
            }
        }
        if !climbed {
            step *= 0.5;
        }
    }
    at
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chance::{Key, Purpose, Slot};

    /// Looks every ten years at poles that follow a curve, some of the condemned gone from the list.
    fn histories(curve: AgeCurve, still_listed: f64) -> Vec<History> {
        let key = Key::of(3, "age curve");
        let history = |pole: u32| {
            let draw = |purpose| key.uniform(pole, Slot::new(purpose, 0, 0));
            let life = curve.scale * pow(-ln(draw(Purpose::Life)), 1.0 / curve.shape);
            let looks = (1..6).map(f64::from).map(|visit| Look {
                age: 10.0 * visit,
                passed: 10.0 * (visit - 1.0),
                still_listed,
                rejected: life <= 10.0 * visit,
            });
            let passed = looks.clone().filter(|look| !look.rejected);
            let known: Vec<Look> = passed
                .chain(looks.clone().find(|look| look.rejected))
                .collect();
            let gone = life <= 50.0 && draw(Purpose::Find) > still_listed;
            (!gone).then(|| History {
                known,
                later: Vec::new(),
            })
        };
        (0..6000).filter_map(history).collect()
    }

    #[test]
    fn the_fitted_curve_is_the_one_that_made_the_verdicts_whoever_left_the_list() {
        let truth = AgeCurve {
            scale: 70.0,
            shape: 2.5,
        };
        for still_listed in [1.0, 0.3] {
            let curve =
                AgeCurve::of_histories(&histories(truth, still_listed), Free::ScaleAndShape);
            // Some 600 rejects are seen at 0.3: three standard errors of about 1 / sqrt(600).
            assert!(
                (curve.scale / truth.scale - 1.0).abs() < 0.12,
                "{still_listed} {curve:?}"
            );
            assert!(
                (curve.shape / truth.shape - 1.0).abs() < 0.12,
                "{still_listed} {curve:?}"
            );
        }
    }

    #[test]
    fn a_later_look_of_unknown_verdict_takes_nothing_from_what_is_known() {
        let truth = AgeCurve {
            scale: 70.0,
            shape: 2.5,
        };
        let hidden: Vec<History> = histories(truth, 0.3)
            .into_iter()
            .map(|history| {
                let (known, later) = history.known.iter().partition(|look| look.age < 45.0);
                History { known, later }
            })
            .collect();
        let curve = AgeCurve::of_histories(&hidden, Free::ScaleAndShape);
        // About 350 rejects are left: three standard errors.
        assert!((curve.scale / truth.scale - 1.0).abs() < 0.16, "{curve:?}");
    }

    #[test]
    fn a_constant_rate_is_the_number_of_rejects_over_the_years_watched() {
        // 80 of 1,000 poles rejected at age 10: the rate r with 1 - exp(-10 r) = 0.08 is 0.008338, its scale 119.9;
        // the first guess weighs as much as two verdicts or so.
        let outcomes: Vec<(Vec<Look>, bool)> = (0..1000)
            .map(|pole| {
                let look = Look {
                    age: 10.0,
                    passed: 0.0,
                    still_listed: 1.0,
                    rejected: pole < 80,
                };
                (vec![look], look.rejected)
            })
            .collect();
        let curve = AgeCurve::of_outcomes(&outcomes, Free::Scale);
        assert!((curve.scale / 119.9 - 1.0).abs() < 0.05, "{curve:?}");
        assert!((curve.shape - 1.0).abs() < 1e-12);
    }

    #[test]
    fn without_verdicts_the_first_guess_remains() {
        let curve = AgeCurve::of_histories(&[], Free::ScaleAndShape);
        assert!(
            (curve.scale - 60.0).abs() < 0.1 && (curve.shape - 3.0).abs() < 0.01,
            "{curve:?}"
        );
        // Half of the lives of that curve end by 60 (ln 2)^(1/3) = 53.1.
        let look = |age, passed| Look {
            age,
            passed,
            still_listed: 1.0,
            rejected: false,
        };
        assert!((curve.chance(&look(53.1, 0.0)) - 0.5).abs() < 0.005);
        assert!(curve.chance(&look(53.1, 53.1)).abs() < 1e-12);
    }

    #[test]
    fn who_has_left_the_list_is_reckoned_with() {
        // A fifth rejected, a quarter of them still listed, and of those that passed 0.8 + 0.2 x 0.25 = 0.85 after the
        // next look: 0.2 x 0.25 of that and 0.8 x 0.85, 0.05 / 0.73.
        let curve = AgeCurve {
            scale: 10.0 / -0.8_f64.ln(),
            shape: 1.0,
        };
        let look = |age| Look {
            age,
            passed: age - 10.0,
            still_listed: 0.25,
            rejected: false,
        };
        let chance = curve.chance_if_listed(&[look(10.0), look(20.0)]);
        assert!((chance - 0.05 / 0.73).abs() < 1e-12, "{chance}");
    }
}
