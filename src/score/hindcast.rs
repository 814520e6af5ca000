//! Hindcasts: what a plan of an earlier year would have said of the inspections that followed, scored on what they found.
//!
//! For each year the inventory is taken as it was known then, beliefs are made of that, and the first later look into
//! each pole's wood is forecast. The forecast is held to an age-only curve and a constant rate, fitted to what was known
//! then and, harder, with hindsight to the very outcomes.
//!
//! **Selection.** A list of survivors no longer holds most of the poles that were condemned since. What is forecast is
//! therefore the chance of a reject *given that the pole is still listed today* ([`Holds::Survivors`]), for the forecast
//! and its rivals alike; poles that are listed as removed are left out. Where the owner lists every removed pole, the
//! list of the year is whole and no condition is needed ([`Holds::Removed`]).

use super::bands::{Coverage, coverage, together};
use super::baseline::{AgeCurve, Free, History, Look};
use super::forecast::{Chances, Holds, chances};
use super::metrics::{
    Bin, Catch, Measured, TOPS, brier_score, catch, log_score, mean_of, reliability,
};
use crate::belief::grid::{LIFE_CELLS, LifeGrid};
use crate::belief::{Beliefs, Scratch, believe_until};
use crate::inventory::Inventory;
use crate::models::Models;
use crate::parallel;
use crate::pole::{Inspection, Method, PoleIndex, Status, Verdict};
use crate::programme::Programme;
use crate::units::{Date, date_after, days_after, years_between};

/// Years after which an inspection no longer counts as the next one, unless the question says otherwise.
pub const WINDOW_YEARS: f64 = 5.0;

/// Standard errors by which a forecast must be ahead to be said to beat another: a one-sided test at 5 %.
const CLEARLY: f64 = 1.645;

/// What to look back on.
#[derive(Debug, Clone, PartialEq)]
pub struct Question {
    /// Years, each taken as it was known on its first day.
    pub as_of: Vec<i16>,
    /// Years within which the next look counts; until the next of the years, and five at most, when not given.
    pub window_years: Option<f64>,
    /// Which poles the list holds.
    pub holds: Holds,
}

/// One forecast with what was found.
#[derive(Debug, Clone, PartialEq)]
pub struct Case {
    /// The owner's id.
    pub id: String,
    /// Year as of which it was forecast.
    pub as_of: i16,
    /// Line.
    pub line: Option<String>,
    /// Length in tenths of a millimetre, and class.
    pub size: (Option<i64>, Option<String>),
    /// Number of the line among the areas.
    pub area: usize,
    /// Number of the curve cell among those in use.
    pub slot: usize,
    /// Day of the look.
    pub date: Date,
    /// How it looked.
    pub method: Method,
    /// Age of the pole then, years: the mean where it is not recorded.
    pub age: f64,
    /// The look and those after it, as the age alone sees them.
    pub looks: Vec<Look>,
    /// The forecast.
    pub chances: Chances,
    /// The rivals' chances, in the order of [`Rival::ALL`].
    pub rivals: [RivalChance; Rival::ALL.len()],
    /// The verdict.
    pub verdict: Verdict,
    /// Whether it was found below the limit.
    pub rejected: bool,
}

/// What a rival says of one look.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct RivalChance {
    /// Chance of a reject among poles of which the list still tells.
    pub listed: f64,
    /// The same if no condemned pole ever left the list: what its ranking goes by.
    pub all: f64,
}

impl RivalChance {
    fn of(curve: &AgeCurve, looks: &[Look]) -> Self {
        Self {
            listed: curve.chance_if_listed(looks),
            all: looks.first().map_or(0.0, |look| curve.chance(look)),
        }
    }
}

/// What a forecast is held to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub enum Rival {
    /// An age curve fitted to what was known then.
    AgeKnown,
    /// A constant yearly rate fitted to what was known then.
    RateKnown,
    /// The age curve that fits the outcomes themselves best.
    AgeHindsight,
    /// The constant yearly rate that fits the outcomes best.
    RateHindsight,
}

impl Rival {
    /// All.
    pub const ALL: [Self; 4] = [
        Self::AgeKnown,
        Self::RateKnown,
        Self::AgeHindsight,
        Self::RateHindsight,
    ];

    /// In words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::AgeKnown => "age only, known then",
            Self::RateKnown => "constant rate, known then",
            Self::AgeHindsight => "age only, with hindsight",
            Self::RateHindsight => "constant rate, with hindsight",
        }
    }
}

/// What became of the poles of one year's list.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, serde::Serialize)]
pub struct Counts {
    /// Poles of today's list that were known to stand then.
    pub poles: usize,
    /// Poles of today's list that were set later, or of which nothing proves that they stood then.
    pub not_yet: usize,
    /// Poles listed as removed that were left out, because not all removed poles are listed.
    pub removed_left_out: usize,
    /// Poles that had been condemned by then and were listed all the same: nothing to forecast.
    pub condemned_before: usize,
    /// Poles into whose wood nobody looked within the window.
    pub not_looked: usize,
    /// Forecasts that could be scored.
    pub scored: usize,
    /// Of these found below the limit.
    pub rejected: usize,
    /// Rejects on record then, among poles that are still listed: what the rivals could learn from.
    pub rejects_known: usize,
}

/// How good the forecast was, and how much better than one rival.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Against {
    /// The rival.
    pub rival: Rival,
    /// Its Brier score.
    pub brier: Measured,
    /// Its log score.
    pub log: Measured,
    /// Its Brier score less the forecast's: above 0 the forecast is better.
    pub brier_gain: Measured,
    /// Its log score less the forecast's.
    pub log_gain: Measured,
    /// What the tops of its ranking caught.
    pub catches: [Catch; TOPS.len()],
}

/// All scores of some cases.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Scores {
    /// Number of cases.
    pub cases: usize,
    /// Rejects that were expected.
    pub expected: f64,
    /// Rejects that were found.
    pub found: usize,
    /// Brier score of the forecast.
    pub brier: Measured,
    /// Log score of the forecast.
    pub log: Measured,
    /// What the tops of its ranking caught.
    pub catches: [Catch; TOPS.len()],
    /// Its rivals.
    pub against: Vec<Against>,
    /// Reliability.
    pub bins: Vec<Bin>,
    /// How the bands on counts held.
    pub coverage: Vec<Coverage>,
}

/// How a forecast came off against a rival.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub enum Standing {
    /// Better in the log score by more than chance gives.
    Beats,
    /// Better, and by no more than chance gives.
    Ahead,
    /// Not better.
    DoesNotBeat,
}

impl Against {
    /// How the forecast came off in the log score.
    pub fn standing(&self) -> Standing {
        let gain = self.log_gain;
        if gain.mean > CLEARLY * gain.standard_error {
            Standing::Beats
        } else if gain.mean > 0.0 {
            Standing::Ahead
        } else {
            Standing::DoesNotBeat
        }
    }
}

/// One year looked back from.
#[derive(Debug, Clone, PartialEq)]
pub struct AsOf {
    /// The year.
    pub year: i16,
    /// The last day of which findings were known.
    pub known_until: Date,
    /// The first day that no longer counts.
    pub until: Date,
    /// What became of its poles.
    pub counts: Counts,
    /// The age curve known then.
    pub age_curve: AgeCurve,
    /// The forecasts.
    pub cases: Vec<Case>,
    /// Their scores; `None` without a case.
    pub scores: Option<Scores>,
}

/// Hindcasts of several years.
#[derive(Debug, Clone, PartialEq)]
pub struct Hindcast {
    /// Which poles the list holds.
    pub holds: Holds,
    /// Year by year.
    pub years: Vec<AsOf>,
    /// The age curve that fits all outcomes best.
    pub hindsight_curve: AgeCurve,
    /// Scores of all cases together; `None` without a case.
    pub scores: Option<Scores>,
}

/// Hindcasts for a programme.
pub fn hindcast(
    inventory: &Inventory,
    models: &Models,
    programme: &Programme,
    question: &Question,
) -> Hindcast {
    let removed = inventory
        .poles()
        .iter()
        .filter(|pole| pole.status == Status::Removed)
        .count();
    let list = match question.holds {
        Holds::Survivors => inventory.without_removed(),
        Holds::Removed => inventory.clone(),
    };
    let mut as_of = question.as_of.clone();
    as_of.sort_unstable();
    as_of.dedup();
    let mut years: Vec<AsOf> = Vec::new();
    let mut bands: Vec<Vec<Coverage>> = Vec::new();
    for (place, year) in as_of.iter().enumerate() {
        let until = window_end(programme, question, *year, as_of.get(place + 1).copied());
        let mut look_back = LookBack::new(&list, models, programme, question.holds, *year);
        look_back.counts.removed_left_out = match question.holds {
            Holds::Survivors => removed,
            Holds::Removed => 0,
        };
        let (mut cases, age_curve) = look_back.cases(&list, until);
        bands.push(Vec::new());
        if !cases.is_empty() {
            let draws = &look_back.beliefs.calibration.draws;
            bands[place] = coverage(&cases, draws, programme.seed);
        }
        cases.sort_by(|a, b| a.id.cmp(&b.id));
        years.push(AsOf {
            year: *year,
            known_until: look_back.known_until,
            until,
            counts: look_back.counts,
            age_curve,
            cases,
            scores: None,
        });
    }
    let hindsight_curve = give_hindsight(&mut years);
    for (year, own) in years.iter_mut().zip(&bands) {
        year.scores = scores(&year.cases.iter().collect::<Vec<_>>(), own.clone());
    }
    let all: Vec<&Case> = years.iter().flat_map(|year| &year.cases).collect();
    let scores = scores(&all, together(&bands.concat()));
    Hindcast {
        holds: question.holds,
        years,
        hindsight_curve,
        scores,
    }
}

/// The first day of a year.
fn first_day(year: i16) -> Date {
    Date::new(year.clamp(1, 9999), 1, 1).unwrap_or(Date::MIN)
}

fn window_end(programme: &Programme, question: &Question, year: i16, next: Option<i16>) -> Date {
    let start = first_day(year);
    let end = match (question.window_years, next) {
        (Some(years), _) => date_after(start, years),
        (None, Some(next)) => first_day(next).min(date_after(start, WINDOW_YEARS)),
        (None, None) => date_after(start, WINDOW_YEARS),
    };
    end.min(programme.plan_from)
}

/// One year's knowledge.
struct LookBack {
    year: i16,
    known_until: Date,
    holds: Holds,
    programme: Programme,
    known: Inventory,
    beliefs: Beliefs,
    counts: Counts,
}

impl LookBack {
    fn new(
        list: &Inventory,
        models: &Models,
        programme: &Programme,
        holds: Holds,
        year: i16,
    ) -> Self {
        // What is recorded on the first day itself is known no more than the rest of the year.
        let known_until = days_after(first_day(year), -1);
        let mut then = programme.clone();
        then.horizon_years = 1;
        if holds == Holds::Removed {
            then.plan_from = first_day(year);
        }
        let known = list.as_of(known_until);
        let lives = LifeGrid::new(LIFE_CELLS);
        let beliefs = believe_until(known_until, lives, &known, models, &then);
        Self {
            year,
            known_until,
            holds,
            counts: Counts {
                poles: known.len(),
                not_yet: list.len() - known.len(),
                ..Counts::default()
            },
            programme: then,
            known,
            beliefs,
        }
    }

    /// The cases with the forecast and the rivals that were possible then, and the age curve known then.
    fn cases(&mut self, list: &Inventory, until: Date) -> (Vec<Case>, AgeCurve) {
        let histories: Vec<History> = self
            .known
            .indices()
            .map(|pole| self.history(pole))
            .collect();
        let curves =
            [Free::ScaleAndShape, Free::Scale].map(|free| AgeCurve::of_histories(&histories, free));
        self.counts.rejects_known = histories
            .iter()
            .flat_map(|history| &history.known)
            .filter(|look| look.rejected)
            .count();
        let mut targets = Vec::new();
        for (pole, history) in self.known.indices().zip(&histories) {
            let last = self.known.last_inspection(pole);
            let condemned = last.is_some_and(|look| look.verdict.is_reject())
                || history.known.iter().any(|look| look.rejected);
            let found = self.target(list, pole, until);
            match found {
                _ if condemned => self.counts.condemned_before += 1,
                Some(target) => targets.push((pole, target)),
                None => self.counts.not_looked += 1,
            }
        }
        let cases = parallel::map_with(&targets, Scratch::default, |scratch, (pole, target)| {
            self.case(*pole, target, &histories[pole.get()], &curves, scratch)
        });
        self.counts.scored = cases.len();
        self.counts.rejected = cases.iter().filter(|case| case.rejected).count();
        (cases, curves[0])
    }

    /// The first later look into the pole's wood within the window, with what it found.
    fn target(&self, list: &Inventory, pole: PoleIndex, until: Date) -> Option<Inspection> {
        let listed = list.find(self.known.id(pole))?;
        let into_the_wood = |look: &&Inspection| {
            look.verdict != Verdict::NotInspected
                && look.method.is_intrusive()
                && look.date > self.known_until
        };
        let first = list.inspections_of(listed).iter().find(into_the_wood)?;
        (first.date < until).then_some(*first)
    }

    /// The looks at a pole that came after what was known, in order.
    fn later(&self, pole: PoleIndex) -> Vec<Inspection> {
        let looks = self.known.inspections_of(pole).iter();
        looks
            .filter(|look| look.date > self.known_until)
            .copied()
            .collect()
    }

    fn case(
        &self,
        pole: PoleIndex,
        found: &Inspection,
        history: &History,
        curves: &[AgeCurve; 2],
        scratch: &mut Scratch,
    ) -> Case {
        let later = self.later(pole);
        let place = later
            .iter()
            .position(|look| look.date == found.date && look.method == found.method)
            .unwrap_or(0);
        let chances = chances(
            &self.beliefs,
            (&self.known, pole),
            &self.programme,
            self.holds,
            (&later, place),
            scratch,
        );
        let facts = self.known.pole(pole);
        let looks = self.looks_from(pole, history);
        let [age_known, rate_known] =
            [0, 1].map(|curve: usize| RivalChance::of(&curves[curve], &looks));
        Case {
            id: self.known.id(pole).to_owned(),
            as_of: self.year,
            line: self.known.line_of(pole).map(str::to_owned),
            size: (
                facts.length.map(|mm| (mm.0 * 10.0).round() as i64),
                facts
                    .class
                    .map(|class| self.known.names.get(class).to_owned()),
            ),
            area: self.beliefs.area(pole),
            slot: self.beliefs.slot(pole),
            date: found.date,
            method: found.method,
            age: self.age_at(pole, found.date),
            looks,
            chances,
            rivals: [
                age_known,
                rate_known,
                RivalChance::default(),
                RivalChance::default(),
            ],
            verdict: found.verdict,
            rejected: found.verdict.is_reject(),
        }
    }

    /// The pole's age on a day, years: the mean where it is not recorded.
    fn age_at(&self, pole: PoleIndex, date: Date) -> f64 {
        let today = f64::from(self.beliefs.summary(pole).age);
        today - years_between(date, self.programme.plan_from)
    }

    /// The looks into a pole's wood as the age alone sees them.
    fn history(&self, pole: PoleIndex) -> History {
        let mut history = History::default();
        let mut passed = 0.0;
        for look in self.known.inspections_of(pole) {
            let known = look.date <= self.known_until;
            let says_nothing = known && look.verdict == Verdict::NotInspected;
            let condemned = history
                .known
                .last()
                .is_some_and(|last: &Look| last.rejected);
            if says_nothing || condemned || !look.method.is_intrusive() {
                continue;
            }
            let age = self.age_at(pole, look.date);
            let own = Look {
                age,
                passed,
                still_listed: self.still_listed(look.date),
                rejected: look.verdict.is_reject(),
            };
            passed = age;
            if known {
                history.known.push(own);
            } else if self.holds == Holds::Survivors {
                history.later.push(own);
            }
        }
        history
    }

    /// The look that is forecast and, among survivors, those after it.
    fn looks_from(&self, pole: PoleIndex, history: &History) -> Vec<Look> {
        if self.holds == Holds::Survivors {
            return history.later.clone();
        }
        let first = self
            .later(pole)
            .into_iter()
            .find(|look| look.method.is_intrusive());
        let passed = history.known.last().map_or(0.0, |look| look.age);
        let look = |look: Inspection| Look {
            age: self.age_at(pole, look.date),
            passed,
            still_listed: 1.0,
            rejected: false,
        };
        first.map(look).into_iter().collect()
    }

    fn still_listed(&self, date: Date) -> f64 {
        let lag = years_between(date, self.programme.plan_from);
        self.programme.removals.still_listed(lag)
    }
}

/// Fits the rivals that know the outcomes, and gives every case their chances.
fn give_hindsight(years: &mut [AsOf]) -> AgeCurve {
    let outcomes: Vec<(Vec<Look>, bool)> = years
        .iter()
        .flat_map(|year| &year.cases)
        .map(|case| (case.looks.clone(), case.rejected))
        .collect();
    let [age, rate] =
        [Free::ScaleAndShape, Free::Scale].map(|free| AgeCurve::of_outcomes(&outcomes, free));
    for case in years.iter_mut().flat_map(|year| &mut year.cases) {
        case.rivals[2] = RivalChance::of(&age, &case.looks);
        case.rivals[3] = RivalChance::of(&rate, &case.looks);
    }
    age
}

/// The scores of some cases; `None` when there are none.
fn scores(cases: &[&Case], coverage: Vec<Coverage>) -> Option<Scores> {
    if cases.is_empty() {
        return None;
    }
    let mut lines: Vec<Option<&str>> = cases.iter().map(|case| case.line.as_deref()).collect();
    lines.sort_unstable();
    lines.dedup();
    let line_of = |case: &Case| lines.partition_point(|line| *line < case.line.as_deref()) as u32;
    let mean = |score: &dyn Fn(&Case) -> f64| {
        let values: Vec<(f64, u32)> = cases
            .iter()
            .map(|case| (score(case), line_of(case)))
            .collect();
        mean_of(&values)
    };
    let own = |case: &Case| case.chances.listed;
    let ranked = |chance: &dyn Fn(&Case) -> f64| {
        let pairs: Vec<(f64, bool)> = cases
            .iter()
            .map(|case| (chance(case), case.rejected))
            .collect();
        TOPS.map(|top| catch(&pairs, top))
    };
    let against = Rival::ALL.into_iter().enumerate().map(|(place, rival)| {
        let its = move |case: &Case| case.rivals[place].listed;
        Against {
            rival,
            brier: mean(&|case| brier_score(its(case), case.rejected)),
            log: mean(&|case| log_score(its(case), case.rejected)),
            brier_gain: mean(&|case| {
                brier_score(its(case), case.rejected) - brier_score(own(case), case.rejected)
            }),
            log_gain: mean(&|case| {
                log_score(its(case), case.rejected) - log_score(own(case), case.rejected)
            }),
            catches: ranked(&|case| case.rivals[place].all),
        }
    });
    let pairs: Vec<(f64, bool)> = cases
        .iter()
        .map(|case| (own(case), case.rejected))
        .collect();
    Some(Scores {
        cases: cases.len(),
        expected: cases.iter().map(|case| own(case)).sum(),
        found: cases.iter().filter(|case| case.rejected).count(),
        brier: mean(&|case| brier_score(own(case), case.rejected)),
        log: mean(&|case| log_score(own(case), case.rejected)),
        catches: ranked(&|case| case.chances.all),
        against: against.collect(),
        bins: reliability(&pairs),
        coverage,
    })
}
