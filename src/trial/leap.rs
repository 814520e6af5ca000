//! The fast twin of [`mod@life`](super::life): leaps over the years in which nothing happens.
//!
//! Between two visits only wind, an end that has nothing to do with decay, and the limit can happen to a pole. Progress
//! never falls and the limit never rises, so one look at the end of such a stretch tells for most poles that nothing does,
//! and a search finds the year where something does. The years in which something happens are lived by the reference's
//! own code, with the same draws. Tests hold the two together event by event. Must not know what events mean.

use super::life::{Circumstances, Event, Standing, World, middle};
use std::ops::Range;

/// Lives through the plan years and tells what happens, stretches of years with the same event at once.
///
/// `storms` has for each plan year the strongest wind from then on.
pub fn leap(
    world: &World<'_>,
    here: &Circumstances<'_>,
    storms: &[f64],
    mut tell: impl FnMut(Range<u16>, Event),
) {
    let mut standing = Standing::new(here);
    let mut year = 0;
    while year < world.years {
        let next = standing.quiet_until(world, here, storms, year);
        standing.tell_below(here, year..next, &mut tell);
        if next < world.years {
            standing.live(world, here, next, &mut |at, event| tell(at..at + 1, event));
        }
        year = next + 1;
    }
}

/// The strongest wind from each year on.
pub fn storms(winds: &[f64]) -> Vec<f64> {
    let mut storms = winds.to_vec();
    for year in (1..storms.len()).rev() {
        storms[year - 1] = storms[year - 1].max(storms[year]);
    }
    storms
}

impl Standing {
    /// The first year from `year` on in which something may happen but for standing below the limit; the number of plan
    /// years when nothing does.
    fn quiet_until(
        &self,
        world: &World<'_>,
        here: &Circumstances<'_>,
        storms: &[f64],
        year: u16,
    ) -> u16 {
        let ahead = |planned: &u16| *planned >= year;
        let planned = [
            self.next_visit.filter(ahead),
            self.reinforce_in.filter(ahead),
            self.replace_in.map(|planned| planned.max(year)),
        ];
        let next = planned.into_iter().flatten().fold(world.years, u16::min);
        let next = first_where(year..next, |at| {
            self.goes_otherwise(at) || self.is_of_age(here, at)
        });
        self.first_failure(world, here, storms, year..next)
            .unwrap_or(next)
    }

    /// The first of some years in which wind brings the pole down.
    fn first_failure(
        &self,
        world: &World<'_>,
        here: &Circumstances<'_>,
        storms: &[f64],
        years: Range<u16>,
    ) -> Option<u16> {
        // Braced or not, no year leaves less strength than this.
        let least = self.strength_left(middle(years.end.checked_sub(1)?));
        let ratio = self.pole.strength_ratio;
        years
            .take_while(|year| world.hazard.fails(storms[usize::from(*year)], ratio, least))
            .find(|year| self.fails(world, here, *year))
    }

    /// Tells in which of some quiet years the pole ends below the limit.
    fn tell_below(
        &self,
        here: &Circumstances<'_>,
        years: Range<u16>,
        tell: &mut impl FnMut(Range<u16>, Event),
    ) {
        if self.upkeep.braced().is_some() {
            let below = years.filter(|year| self.ends_below(here, *year));
            below.for_each(|year| tell(year..year + 1, Event::BelowLimit));
            return;
        }
        let below = first_where(years.clone(), |year| self.ends_below(here, year))..years.end;
        if !below.is_empty() {
            tell(below, Event::BelowLimit);
        }
    }
}

/// The first of some years in which something holds that, once it does, does for good; their end when it never does.
fn first_where(years: Range<u16>, holds: impl Fn(u16) -> bool) -> u16 {
    if years.is_empty() || !holds(years.end - 1) {
        return years.end;
    }
    let (mut low, mut high) = (years.start, years.end - 1);
    while low < high {
        let between = low.midpoint(high);
        if holds(between) {
            high = between;
        } else {
            low = between + 1;
        }
    }
    low
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chance::{Key, Purpose, Slot};
    use crate::pole::{Agent, Method, Mode};
    use crate::programme::Policy;
    use crate::schedule::Visits;
    use crate::trial::life::{Specimen, life};
    use crate::units::{Fraction, Mm};
    use crate::wood::{Detection, FailureHazard, MethodDetection, Stretch, Upkeep, Wood};

    /// Random circumstances. Among them all kinds of events occur thousands of times.
    const CASES: u32 = 20_000;
    const YEARS: u16 = 30;

    /// Uniform draws for one case, one after the other.
    struct Dice {
        case: u32,
        thrown: u16,
    }

    impl Dice {
        fn throw(&mut self) -> f64 {
            self.thrown += 1;
            Key::of(5, "dice").uniform(self.case, Slot::new(Purpose::Invent, 0, self.thrown))
        }

        fn between(&mut self, low: f64, high: f64) -> f64 {
            low + (high - low) * self.throw()
        }

        fn whether(&mut self, share: f64) -> bool {
            self.throw() < share
        }

        fn year(&mut self, share: f64) -> Option<u16> {
            let year = self.between(0.0, f64::from(YEARS) + 5.0) as u16;
            self.whether(share).then_some(year)
        }
    }

    fn specimen(dice: &mut Dice, age: f64) -> Specimen {
        // One in twenty dies young; some are sound throughout, some long past the limit.
        let life = if dice.whether(0.05) {
            dice.between(0.5, 10.0)
        } else {
            dice.between(15.0, 140.0)
        };
        Specimen {
            wood: Wood {
                life,
                protected: dice.between(0.02, 0.95),
                mode: Mode::ALL[usize::from(dice.whether(0.5))],
                diameter: Mm(dice.between(180.0, 450.0)),
            },
            age,
            strength_ratio: dice.between(0.4, 1.6),
            hidden: dice.whether(0.15),
            other_end: age + dice.between(0.0, 200.0),
            clock_factor: dice.between(0.3, 0.8),
        }
    }

    fn policy(dice: &mut Dice) -> Policy {
        Policy {
            replace_within_years: dice.between(0.0, 3.0),
            remedial_treatment: dice.whether(0.5),
            remedial_agent: dice.whether(0.3).then_some(Agent::ALL[0]),
            treatment_years: Some(dice.between(1.0, 12.0)),
            reinforce: dice.whether(0.5),
            reinforcement_life_years: dice.between(2.0, 25.0),
            reinforceable_share: Fraction::clamped(dice.between(0.0, 1.2)),
            ..crate::common::policy()
        }
    }

    fn upkeep(dice: &mut Dice) -> Upkeep {
        let mut upkeep = Upkeep::default();
        for mode in Mode::ALL {
            if dice.whether(0.3) {
                let from = dice.between(-20.0, 5.0);
                let until = from + dice.between(0.0, 15.0);
                upkeep.treat(mode, Stretch { from, until });
            }
        }
        if dice.whether(0.2) {
            let from = dice.between(-20.0, 0.0);
            let until = from + dice.between(5.0, 40.0);
            upkeep.brace(Stretch { from, until });
        }
        upkeep
    }

    fn visits(dice: &mut Dice) -> Visits {
        Visits {
            first: dice.year(0.9),
            repeat_years: dice.between(0.0, 15.0) as u16,
            after_decay_years: dice.between(1.0, 8.0) as u16,
            first_age_years: dice.between(0.0, 20.0) as u16,
            braced_years: dice.between(0.0, 10.0) as u16,
            method: Method::ALL[dice.between(0.0, Method::ALL.len() as f64) as usize],
            replace: dice.year(0.1),
            reinforce: dice.year(0.1),
            replace_at_age: dice.year(0.1).map(|year| 40 + year),
        }
    }

    fn detection(dice: &mut Dice) -> Detection {
        let method = MethodDetection {
            sensitivity: dice.between(0.1, 0.95),
            false_find: dice.between(0.0, 0.1),
            false_reject: dice.between(0.0, 0.5),
            measure_sd_mm: [2.8, 8.0],
            verdict_sd: dice.between(0.05, 0.4),
        };
        Detection {
            methods: [method; Method::ALL.len()],
            hidden_share: 0.15,
        }
    }

    #[test]
    fn leaps_tell_event_by_event_what_a_life_year_by_year_does() {
        let agents = crate::models::text::built_in()
            .expect("valid models")
            .remedies
            .agents;
        let hazards = [0.2, 0.35, 0.6, 0.9].map(|used| FailureHazard::new(used, 0.2));
        let mut seen = [0_u32; 7];
        for case in 0..CASES {
            let dice = &mut Dice { case, thrown: 0 };
            let (policy, detection) = (policy(dice), detection(dice));
            let hazard = &hazards[dice.between(0.0, 4.0) as usize];
            let treatment = agents.planned(&policy);
            let world = World {
                policy: &policy,
                detection: &detection,
                hazard,
                treatment: &treatment,
                years: YEARS,
            };
            let key = Key::of(7, "place");
            let winds: Vec<f64> = (0..YEARS)
                .map(|_| hazard.strongest_wind(dice.throw()))
                .collect();
            // A stricter rule comes into force in some year.
            let (limit, stricter) = (dice.between(0.5, 1.2), dice.between(0.2, 1.0));
            let strict_from = dice.year(0.3).unwrap_or(u16::MAX);
            let age = dice.between(0.0, 80.0);
            let first = specimen(dice, age);
            let here = Circumstances {
                first,
                upkeep: &upkeep(dice),
                visits: &visits(dice),
                winds: &winds,
                limit: &|_, year| {
                    let share = if year >= strict_from { stricter } else { 1.0 };
                    limit * share
                },
                next: &|generation, years| {
                    let thrown = 1000 * u16::from(generation);
                    specimen(&mut Dice { case, thrown }, -years)
                },
                draw: &|slot| key.uniform(case, slot),
            };
            let mut slow = Vec::new();
            life(&world, &here, |year, event| slow.push((year, event)));
            let mut fast = Vec::new();
            leap(&world, &here, &storms(&winds), |years, event| {
                fast.extend(years.map(|year| (year, event)));
            });
            assert_eq!(slow, fast, "case {case}");
            for (_, event) in slow {
                let kind = match event {
                    Event::Inspected => 0,
                    Event::Rejected => 1,
                    Event::Failed => 2,
                    Event::Replaced(_) => 3,
                    Event::Reinforced => 4,
                    Event::BelowLimit => 5,
                    Event::Treated => 6,
                };
                seen[kind] += 1;
            }
        }
        assert!(seen.iter().all(|count| *count > 500), "{seen:?}");
    }

    #[test]
    fn a_search_finds_the_first_year() {
        for from in 0..6 {
            for until in from..9 {
                for change in 0..10 {
                    let first = first_where(from..until, |year| year >= change);
                    assert_eq!(first, change.clamp(from, until), "{from} {until} {change}");
                }
            }
        }
    }
}
