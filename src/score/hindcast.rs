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
use super::forecast::{Holds, chances};
use super::scores::{Case, RivalChance, Scores, scores};
use crate::belief::grid::{LIFE_CELLS, LifeGrid};
use crate::belief::{Beliefs, Scratch, believe_until};
use crate::inventory::Inventory;
use crate::models::Models;
use crate::parallel;
use crate::pole::{Inspection, PoleIndex, Status, Verdict};
use crate::programme::Programme;
use crate::units::{Date, anniversary, days_after, years_between};

/// Years after which an inspection no longer counts as the next one, unless the question says otherwise.
pub const WINDOW_YEARS: u16 = 5;

/// What to look back on.
#[derive(Debug, Clone, PartialEq)]
pub struct Question {
    /// Years, each taken as it was known on its first day.
    pub as_of: Vec<i16>,
    /// Years within which the next look counts; until the next of the years, and five at most, when not given.
    pub window_years: Option<u16>,
    /// Which poles the list holds.
    pub holds: Holds,
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
    let after = |years: u16| anniversary(start, i32::from(years));
    let end = match (question.window_years, next) {
        (Some(years), _) => after(years),
        (None, Some(next)) => first_day(next).min(after(WINDOW_YEARS)),
        (None, None) => after(WINDOW_YEARS),
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::common::{inspected, inventory_of, pole_set, programme};
    use crate::models::text::built_in;
    use crate::pole::{Method, Pole};
    use jiff::civil::date;

    fn look(year: i16, verdict: Verdict) -> Inspection {
        inspected(date(year, 6, 1), Method::PartialExcavation, verdict)
    }

    fn asked(as_of: &[i16], holds: Holds) -> Hindcast {
        let removed = Pole {
            status: Status::Removed,
            removed: Some(date(2022, 3, 1)),
            ..pole_set(1975)
        };
        let decayed = [
            look(2010, Verdict::DecayServiceable),
            look(2021, Verdict::RejectReplace),
        ];
        let patrolled = inspected(date(2020, 6, 1), Method::Patrol, Verdict::Sound);
        let inventory = inventory_of(vec![
            (
                "condemned",
                "K",
                pole_set(1970),
                vec![
                    look(2015, Verdict::RejectReplace),
                    look(2021, Verdict::Danger),
                ],
            ),
            ("decayed", "K", pole_set(1970), decayed.to_vec()),
            ("gone", "L", removed, decayed.to_vec()),
            (
                "late",
                "L",
                pole_set(1985),
                vec![look(2023, Verdict::Sound)],
            ),
            ("never", "L", pole_set(1985), vec![patrolled]),
            (
                "sound",
                "L",
                pole_set(1985),
                vec![look(2010, Verdict::Sound), look(2021, Verdict::Sound)],
            ),
            ("young", "L", pole_set(2021), vec![]),
        ]);
        let question = Question {
            as_of: as_of.to_vec(),
            window_years: None,
            holds,
        };
        hindcast(
            &inventory,
            &built_in().expect("valid models"),
            &programme(),
            &question,
        )
    }

    #[test]
    fn every_pole_of_the_list_is_accounted_for() {
        let back = asked(&[2020], Holds::Survivors);
        let counts = Counts {
            poles: 5,
            not_yet: 1,
            removed_left_out: 1,
            condemned_before: 1,
            not_looked: 1,
            scored: 3,
            rejected: 1,
            rejects_known: 1,
        };
        assert_eq!(back.years[0].counts, counts);
        assert_eq!(back.years[0].known_until, date(2019, 12, 31));
        let ids: Vec<&str> = back.years[0]
            .cases
            .iter()
            .map(|case| case.id.as_str())
            .collect();
        assert_eq!(ids, ["decayed", "late", "sound"]);
        // Where every removed pole is listed, the one that is gone was in the list then and its reject counts.
        let whole = asked(&[2020], Holds::Removed);
        assert_eq!(
            (whole.years[0].counts.poles, whole.years[0].counts.rejected),
            (6, 2)
        );
        assert_eq!(whole.years[0].counts.removed_left_out, 0);
    }

    #[test]
    fn a_year_counts_until_the_next_one_and_five_years_at_most() {
        let back = asked(&[2022, 2012, 2020], Holds::Survivors);
        let until: Vec<Date> = back.years.iter().map(|year| year.until).collect();
        // The last ends with the plan date of 2025-01-01.
        assert_eq!(
            until,
            [date(2017, 1, 1), date(2022, 1, 1), date(2025, 1, 1)]
        );
        // The pole condemned in 2015; those seen in 2021, without that one; the one seen in 2023.
        let scored: Vec<usize> = back.years.iter().map(|year| year.counts.scored).collect();
        assert_eq!(scored, [1, 2, 1]);
        assert_eq!(back.scores.map(|scores| scores.cases), Some(4));
        assert_eq!(
            asked(&[2005], Holds::Survivors)
                .scores
                .map(|scores| scores.cases),
            None
        );
    }

    #[test]
    fn decay_on_record_makes_a_reject_likelier_and_leaving_the_list_makes_it_rarer_to_see() {
        let chances = |holds| {
            let back = asked(&[2020], holds);
            let of = |id: &str| {
                let cases = &back.years[0].cases;
                cases
                    .iter()
                    .find(|case| case.id == id)
                    .expect("a case")
                    .chances
                    .clone()
            };
            (of("decayed"), of("sound"))
        };
        let (decayed, sound) = chances(Holds::Survivors);
        assert!(
            decayed.all > 3.0 * sound.all,
            "{} {}",
            decayed.all,
            sound.all
        );
        // Four years after the verdict exp(-3.6) of the condemned are still listed, so few are seen.
        assert!(decayed.listed < 0.2 * decayed.all);
        let (whole, _) = chances(Holds::Removed);
        assert!((whole.listed / whole.all - 1.0).abs() < 1e-6);
        assert!(whole.listed > decayed.listed);
    }
}
