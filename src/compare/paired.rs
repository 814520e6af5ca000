//! Differences between policies, trial by trial: on the same draws what both do alike falls out of them.
//!
//! A mean difference comes with its paired standard error. A policy is dominated by another that costs less and fails less
//! in expectation, both by more than the trials' error; how many trials say the same of both at once is told beside it.

use super::course::{Course, Measure, Span};
use crate::trial::Band;

/// Standard errors by which a mean difference must lie off zero to count: what another seed would hardly change.
const CLEAR: f64 = 2.0;

/// One measure of a policy less that of the programme's own, over the horizon.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Difference {
    /// The measure.
    pub measure: Measure,
    /// The policy's own value.
    pub own: Band,
    /// The policy's less the programme's, over the trials.
    pub than_programme: Band,
    /// Share of the trials in which it is lower than the programme's.
    pub lower: f64,
    /// Share of the trials in which it is higher.
    pub higher: f64,
}

/// A policy that another one is better than in money and failures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dominated {
    /// The better one's place.
    pub by: usize,
    /// Share of the trials in which it costs more and fails more than the better one.
    pub share: f64,
}

/// One policy, compared.
#[derive(Debug, Clone, PartialEq)]
pub struct Compared {
    /// Its course.
    pub course: Course,
    /// Measures over the horizon against the programme's own.
    pub differences: Vec<Difference>,
    /// Poles whose planned inspection is in another year than in the programme's plan, or in only one of the two.
    pub visits_moved: usize,
    /// What its visits before their due years are worth less what the programme's are, in cost units: by so much less is
    /// the schedule expected to cost in all.
    pub value_gained: Option<f64>,
    /// The policy by which it is dominated, of several the one that most trials speak for.
    pub dominated: Option<Dominated>,
}

/// Policies side by side, the programme's own first.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// The policies.
    pub policies: Vec<Compared>,
    /// Trials.
    pub trials: u32,
}

impl Compared {
    /// The difference in one measure.
    pub fn difference(&self, measure: Measure) -> Option<&Difference> {
        self.differences.iter().find(|own| own.measure == measure)
    }
}

/// The comparison of some courses with the first, the programme's own.
pub fn compared(courses: Vec<Course>, trials: u32) -> Comparison {
    let Some(own) = courses.first().cloned() else {
        return Comparison {
            policies: Vec::new(),
            trials,
        };
    };
    let dominated: Vec<Option<Dominated>> = (0..courses.len())
        .map(|place| dominated(&courses, place))
        .collect();
    let policies = courses.into_iter().zip(dominated);
    Comparison {
        policies: policies
            .map(|(course, dominated)| compare_one(course, &own, dominated))
            .collect(),
        trials,
    }
}

fn compare_one(course: Course, own: &Course, dominated: Option<Dominated>) -> Compared {
    let differences = Measure::OF_HORIZON
        .into_iter()
        .filter_map(|measure| {
            let trials = course.trials(measure, Span::Horizon)?;
            let base = own.trials(measure, Span::Horizon)?;
            let less = minus(&trials, &base);
            Some(Difference {
                measure,
                own: Band::of_amounts(trials.into_iter()),
                lower: share(&less, |difference| difference < 0.0),
                higher: share(&less, |difference| difference > 0.0),
                than_programme: Band::of_amounts(less.into_iter()),
            })
        })
        .collect();
    let moved = course.planned.iter().zip(&own.planned);
    Compared {
        visits_moved: moved.filter(|(one, other)| one != other).count(),
        value_gained: course
            .value
            .zip(own.value)
            .map(|(value, base)| value - base),
        differences,
        dominated,
        course,
    }
}

fn minus(one: &[f64], other: &[f64]) -> Vec<f64> {
    one.iter().zip(other).map(|(a, b)| a - b).collect()
}

fn share(differences: &[f64], holds: impl Fn(f64) -> bool) -> f64 {
    let held = differences.iter().filter(|own| holds(**own)).count();
    held as f64 / differences.len().max(1) as f64
}

/// The policy by which the one at `place` is dominated.
fn dominated(courses: &[Course], place: usize) -> Option<Dominated> {
    let of = |course: &Course| {
        let money = course.trials(Measure::NetCost, Span::Horizon)?;
        Some((money, course.trials(Measure::Failures, Span::Horizon)?))
    };
    let (money, failures) = of(&courses[place])?;
    let mut most: Option<Dominated> = None;
    for (by, other) in courses.iter().enumerate().filter(|(by, _)| *by != place) {
        let (other_money, other_failures) = of(other)?;
        let dearer = minus(&money, &other_money);
        let worse = minus(&failures, &other_failures);
        if !(is_clearly_above(&dearer) && is_clearly_above(&worse)) {
            continue;
        }
        let both = dearer.iter().zip(&worse);
        let both = both.filter(|(dearer, worse)| **dearer > 0.0 && **worse > 0.0);
        let share = both.count() as f64 / money.len().max(1) as f64;
        if most.is_none_or(|known| share > known.share) {
            most = Some(Dominated { by, share });
        }
    }
    most
}

fn is_clearly_above(differences: &[f64]) -> bool {
    let band = Band::of_amounts(differences.iter().copied());
    band.mean > CLEAR * band.standard_error && band.mean > 0.0
}
