//! One place in the line through the years of one trial: the pole that stands there, and whatever replaces it.
//!
//! The plain, readable reference (model section 5), year by year; [`leap`](mod@super::leap) is its fast twin. Each draw is
//! addressed by its slot, so a change of policy changes no draw that both policies make.

use crate::chance::{Purpose, Slot};
use crate::maths::normal_cdf;
use crate::pole::Mode;
use crate::programme::{Policy, Response, Seen, respond};
use crate::schedule::Visits;
use crate::wood::agents::Planned;
use crate::wood::section::remaining_strength_at;
use crate::wood::{Aging, Detection, FailureHazard, MethodDetection, Stretch, Upkeep, Wood};

/// A pole as one trial has it: everything that the model leaves open is decided.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Specimen {
    /// How its wood decays.
    pub wood: Wood,
    /// Age at the plan date; negative for a pole set after it.
    pub age: f64,
    /// Strength when new over the mean of its kind.
    pub strength_ratio: f64,
    /// Whether its decay is hidden from all methods but full excavation.
    pub hidden: bool,
    /// Age at which the pole goes for a reason that has nothing to do with decay: it does in the first plan year by
    /// whose middle it is that old.
    pub other_end: f64,
    /// How much a remedial treatment slows its decay while the agent acts.
    pub clock_factor: f64,
}

/// Why a new pole is needed, or what spares one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// Condemned at an inspection, replaced as planned.
    Planned,
    /// Failed in service.
    AfterFailure,
    /// Vehicles, road works, upgrades: demand that has nothing to do with decay.
    OtherDemand,
    /// Condemned at an inspection and reinforced: a brace, no new pole.
    Reinforced,
}

impl Kind {
    /// All kinds.
    pub const ALL: [Self; 4] = [
        Self::Planned,
        Self::AfterFailure,
        Self::OtherDemand,
        Self::Reinforced,
    ];

    /// The kinds that need a new pole.
    pub const NEW_POLES: [Self; 3] = [Self::Planned, Self::AfterFailure, Self::OtherDemand];

    /// The word in tables.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Planned => "planned",
            Self::AfterFailure => "after_failure",
            Self::OtherDemand => "other_demand",
            Self::Reinforced => "reinforced",
        }
    }
}

/// What happened in a plan year.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Event {
    /// An inspection.
    Inspected,
    /// An inspection judged the pole below the limit.
    Rejected,
    /// The pole failed in service.
    Failed,
    /// A new pole was set.
    Replaced(Kind),
    /// A brace was fitted.
    Reinforced,
    /// A remedial treatment was given.
    Treated,
    /// The pole stands below the limit at the end of the year, and no brace holds it.
    BelowLimit,
}

/// What is the same for every pole and trial.
#[derive(Debug, Clone, Copy)]
pub struct World<'a> {
    /// What is done with what is found.
    pub policy: &'a Policy,
    /// How inspections see.
    pub detection: &'a Detection,
    /// Failure in wind.
    pub hazard: &'a FailureHazard,
    /// What a remedial treatment by the policy reaches and for how long.
    pub treatment: &'a Planned,
    /// Plan years.
    pub years: u16,
}

impl<'a> World<'a> {
    /// The same for a place whose poles fail in wind by these tables.
    pub const fn of_hazard(&self, hazard: &'a FailureHazard) -> Self {
        Self { hazard, ..*self }
    }

    /// The same where inspections see so.
    pub const fn seen_by(&self, detection: &'a Detection) -> Self {
        Self { detection, ..*self }
    }
}

/// What one trial brings to one place.
pub struct Circumstances<'a> {
    /// The pole that stands at the plan date.
    pub first: Specimen,
    /// What the records say was done to keep it.
    pub upkeep: &'a Upkeep,
    /// How its visits go on.
    pub visits: &'a Visits,
    /// Strongest wind pressure of each plan year.
    pub winds: &'a [f64],
    /// Progress at which a pole of this wood is below the limit in a plan year. It never rises from year to year: rules
    /// come into force, none goes.
    pub limit: &'a dyn Fn(&Wood, u16) -> f64,
    /// The pole set as generation `n`, `years` after the plan date.
    pub next: &'a dyn Fn(u8, f64) -> Specimen,
    /// The draw at an address.
    pub draw: &'a dyn Fn(Slot) -> f64,
}

/// What stands at the place now.
pub(super) struct Standing {
    pub(super) pole: Specimen,
    generation: u8,
    pub(super) next_visit: Option<u16>,
    pub(super) replace_in: Option<u16>,
    /// Plan year in which a brace is fitted.
    pub(super) reinforce_in: Option<u16>,
    /// What was done to keep it.
    pub(super) upkeep: Upkeep,
}

/// Lives through the plan years and tells what happens.
pub fn life(world: &World<'_>, here: &Circumstances<'_>, mut tell: impl FnMut(u16, Event)) {
    let mut standing = Standing::new(here);
    for year in 0..world.years {
        standing.live(world, here, year, &mut tell);
    }
}

/// The moment of a plan year in which poles fail, are visited and replaced.
pub(super) fn middle(year: u16) -> f64 {
    f64::from(year) + 0.5
}

impl Standing {
    /// The place at the plan date.
    pub(super) fn new(here: &Circumstances<'_>) -> Self {
        Self {
            pole: here.first,
            generation: 0,
            next_visit: here.visits.first,
            replace_in: here.visits.replace,
            reinforce_in: here.visits.reinforce,
            upkeep: here.upkeep.clone(),
        }
    }

    /// Lives through one year.
    pub(super) fn live(
        &mut self,
        world: &World<'_>,
        here: &Circumstances<'_>,
        year: u16,
        tell: &mut impl FnMut(u16, Event),
    ) {
        let middle = middle(year);
        if let Some(kind) = self.ends(world, here, year) {
            if kind == Kind::AfterFailure {
                tell(year, Event::Failed);
            }
            tell(year, Event::Replaced(kind));
            self.renew(here, year, middle);
        } else {
            if self.next_visit == Some(year) {
                tell(year, Event::Inspected);
                let seen = self.visit(world, here, year, middle);
                if matches!(seen, Seen::BelowLimit | Seen::Reinforceable) {
                    tell(year, Event::Rejected);
                }
                if respond(world.policy, seen) == Response::Treat {
                    tell(year, Event::Treated);
                }
            }
            if self.replace_in == Some(year) {
                tell(year, Event::Replaced(Kind::Planned));
                self.renew(here, year, middle);
            } else if self.reinforce_in == Some(year) {
                tell(year, Event::Reinforced);
                self.brace(world, here, year, middle);
            }
        }
        if self.ends_below(here, year) {
            tell(year, Event::BelowLimit);
        }
    }

    /// Decay progress so many years after the plan date.
    pub(super) fn progress(&self, years: f64) -> f64 {
        let pole = Aging {
            wood: self.pole.wood,
            age: self.pole.age,
            upkeep: &self.upkeep,
            factor: self.pole.clock_factor,
        };
        pole.progress(years)
    }

    /// Whether the pole stands below the limit at the end of a year, and no brace holds it.
    pub(super) fn ends_below(&self, here: &Circumstances<'_>, year: u16) -> bool {
        let end = f64::from(year) + 1.0;
        let below = self.progress(end) >= (here.limit)(&self.pole.wood, year + 1);
        below && !self.upkeep.is_braced(end)
    }

    /// Whether wind brings the pole down in the middle of a year.
    pub(super) fn fails(&self, world: &World<'_>, here: &Circumstances<'_>, year: u16) -> bool {
        let middle = middle(year);
        let left = if self.upkeep.is_braced(middle) {
            1.0
        } else {
            self.strength_left(middle)
        };
        let wind = here.winds[usize::from(year)];
        world.hazard.fails(wind, self.pole.strength_ratio, left)
    }

    /// Share of the strength that the wood has left so many years after the plan date.
    pub(super) fn strength_left(&self, years: f64) -> f64 {
        remaining_strength_at(self.pole.wood.mode, self.progress(years))
    }

    /// Whether the pole goes in the middle of a year for a reason that has nothing to do with decay.
    pub(super) fn goes_otherwise(&self, year: u16) -> bool {
        self.pole.other_end <= self.pole.age + middle(year)
    }

    /// Whether the pole is so old in the middle of a year that the policy replaces it unseen.
    pub(super) fn is_of_age(&self, here: &Circumstances<'_>, year: u16) -> bool {
        let age = self.pole.age + middle(year);
        (here.visits.replace_at_age).is_some_and(|replaced| age >= f64::from(replaced))
    }

    /// Whether and why the pole comes down in the middle of this year.
    fn ends(&self, world: &World<'_>, here: &Circumstances<'_>, year: u16) -> Option<Kind> {
        if self.fails(world, here, year) {
            return Some(Kind::AfterFailure);
        }
        let planned = self.replace_in.is_some_and(|planned| planned <= year);
        if planned || self.is_of_age(here, year) {
            return Some(Kind::Planned);
        }
        self.goes_otherwise(year).then_some(Kind::OtherDemand)
    }

    /// Sets a new pole.
    fn renew(&mut self, here: &Circumstances<'_>, year: u16, middle: f64) {
        self.generation = self.generation.saturating_add(1);
        self.pole = (here.next)(self.generation, middle);
        self.next_visit = year.checked_add(here.visits.first_age_years.max(1));
        self.replace_in = None;
        self.reinforce_in = None;
        self.upkeep = Upkeep::default();
    }

    /// Fits a brace. The pole is visited at the interval for such poles, and when the brace has lived its life.
    fn brace(&mut self, world: &World<'_>, here: &Circumstances<'_>, year: u16, middle: f64) {
        let life = world.policy.reinforcement_life_years;
        self.upkeep.brace(Stretch {
            from: middle,
            until: middle + life,
        });
        self.reinforce_in = None;
        self.next_visit = year.checked_add(here.visits.braced_years.max(1));
        self.look_when_the_brace_ends(year);
    }

    /// Sets the next visit no later than to the first year by whose middle a brace has lived its life.
    fn look_when_the_brace_ends(&mut self, year: u16) {
        let Some(brace) = self.upkeep.braced() else {
            return;
        };
        let end = (brace.until - 0.5).ceil().clamp(0.0, f64::from(u16::MAX)) as u16;
        if end > year {
            self.next_visit = self.next_visit.map(|next| next.min(end));
        }
    }

    /// Inspects the pole and does what the policy says.
    fn visit(
        &mut self,
        world: &World<'_>,
        here: &Circumstances<'_>,
        year: u16,
        middle: f64,
    ) -> Seen {
        let progress = self.progress(middle);
        let braced = self.upkeep.is_braced(middle);
        // Nobody condemns a pole for decay that a brace bridges.
        let limit = if braced {
            f64::INFINITY
        } else {
            (here.limit)(&self.pole.wood, year)
        };
        let method = here.visits.method;
        let blind = self.pole.hidden && Detection::hides_from(method);
        let uniform = |purpose| (here.draw)(Slot::new(purpose, self.generation, year));
        let seen = inspect(
            world.detection.of(method),
            if blind { f64::NEG_INFINITY } else { progress },
            limit,
            uniform(Purpose::Find),
            || uniform(Purpose::Judge),
        );
        let share = world.policy.reinforceable_share.get();
        let fit = || self.upkeep.braced().is_none() && uniform(Purpose::Brace) < share;
        let seen = match seen {
            Seen::BelowLimit if fit() => Seen::Reinforceable,
            other => other,
        };
        let interval = match seen {
            Seen::Decay => here.visits.after_decay_years,
            Seen::NoDecay | Seen::Reinforceable | Seen::BelowLimit => here.visits.repeat_years,
        };
        self.next_visit = year.checked_add(interval.max(1));
        let acted_upon = Some((middle + world.policy.replace_within_years) as u16);
        match respond(world.policy, seen) {
            Response::Leave => {}
            Response::Treat => self.treat(world.treatment, middle),
            Response::Reinforce => (self.reinforce_in, self.next_visit) = (acted_upon, None),
            Response::Replace => (self.replace_in, self.next_visit) = (acted_upon, None),
        }
        self.look_when_the_brace_ends(year);
        seen
    }

    /// Gives the remedial treatment of the policy.
    fn treat(&mut self, treatment: &Planned, years: f64) {
        for mode in Mode::ALL {
            if let Some(agent) = treatment[mode.index()] {
                self.upkeep.treat(mode, agent.stretch(years));
            }
        }
    }
}

/// What an inspection makes of a pole (model section 2), from a uniform draw and, where something was found, another.
pub fn inspect(
    method: &MethodDetection,
    progress: f64,
    limit: f64,
    find: f64,
    judge: impl FnOnce() -> f64,
) -> Seen {
    let truly = (1.0 - method.false_find) * method.seen(progress);
    let judged_below = if find < truly {
        judge() < normal_cdf((progress - limit) / method.verdict_sd)
    } else if find < truly + method.false_find {
        judge() < method.false_reject
    } else {
        return Seen::NoDecay;
    };
    if judged_below {
        Seen::BelowLimit
    } else {
        Seen::Decay
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pole::Method;

    const METHOD: MethodDetection = MethodDetection {
        sensitivity: 0.55,
        false_find: 0.03,
        false_reject: 0.3,
        measure_sd_mm: [2.8, 8.0],
        verdict_sd: 0.3,
    };

    #[test]
    fn inspections_find_and_judge_as_often_as_the_curves_say() {
        // A fine lattice of both draws: counts differ from probabilities by at most about one row of it.
        const STEPS: u32 = 400;
        for progress in [-0.5, 0.2, 0.9, 1.4] {
            let mut seen = [0_u32; Seen::BelowLimit as usize + 1];
            for find in 0..STEPS {
                for judge in 0..STEPS {
                    let at = |step: u32| (f64::from(step) + 0.5) / f64::from(STEPS);
                    seen[inspect(&METHOD, progress, 0.8, at(find), || at(judge)) as usize] += 1;
                }
            }
            let share = |kind: Seen| f64::from(seen[kind as usize]) / f64::from(STEPS * STEPS);
            let found = METHOD.found(progress);
            let rejected = METHOD.rejected(progress, 0.8);
            assert!(
                (share(Seen::NoDecay) - (1.0 - found)).abs() < 0.004,
                "{progress}"
            );
            assert!(
                (share(Seen::BelowLimit) - rejected).abs() < 0.004,
                "{progress}"
            );
        }
    }

    const NEW: Specimen = Specimen {
        wood: Wood {
            life: 1e9,
            protected: 0.5,
            mode: crate::pole::Mode::External,
            diameter: crate::units::Mm(300.0),
        },
        age: 0.0,
        strength_ratio: 1e9,
        hidden: false,
        other_end: f64::INFINITY,
        clock_factor: 0.5,
    };

    /// What happens in ten years to a pole below the limit from the 25th of its 50 years, visited in the first year.
    fn ten_years(policy: &Policy, method: MethodDetection, limit: f64) -> Vec<(u16, Event)> {
        let visits = Visits {
            first: Some(0),
            repeat_years: 20,
            after_decay_years: 20,
            first_age_years: 200,
            braced_years: 3,
            method: Method::FullExcavation,
            replace: None,
            reinforce: None,
            replace_at_age: None,
        };
        let agents = crate::models::text::built_in()
            .expect("valid models")
            .remedies
            .agents;
        let hazard = FailureHazard::new(0.35, 0.2);
        let detection = Detection {
            methods: [method; Method::ALL.len()],
            hidden_share: 0.0,
        };
        let first = Specimen {
            wood: Wood {
                life: 50.0,
                ..NEW.wood
            },
            age: 24.5,
            ..NEW
        };
        let world = World {
            policy,
            detection: &detection,
            hazard: &hazard,
            treatment: &agents.planned(policy),
            years: 10,
        };
        let here = Circumstances {
            first,
            upkeep: &Upkeep::default(),
            visits: &visits,
            winds: &[0.0; 10],
            limit: &|_, _| limit,
            next: &|_, years| Specimen { age: -years, ..NEW },
            draw: &|_| 0.4,
        };
        let mut told = Vec::new();
        life(&world, &here, |year, event| told.push((year, event)));
        told
    }

    fn treating(years: f64) -> Policy {
        Policy {
            remedial_treatment: true,
            treatment_years: Some(years),
            ..crate::common::policy()
        }
    }

    #[test]
    fn a_treatment_slows_decay_for_its_years_and_no_longer() {
        // The clock factor is 0.5. Decay starts at 25 years of age, half a year after the plan date, with
        // the visit; of the 4 years that the agent lasts, to 4.5, 2 are saved. Progress 3 / 25 would be reached 3.5
        // years after the plan date without it: 5 + 0.5 with it, in the middle of the sixth year.
        let sees_all = MethodDetection {
            sensitivity: 0.0,
            false_find: 1.0,
            false_reject: 0.0,
            ..METHOD
        };
        let below = |limit| {
            let told = ten_years(&treating(4.0), sees_all, limit);
            told.iter()
                .find(|(_, event)| *event == Event::BelowLimit)
                .map(|(year, _)| *year)
        };
        assert_eq!(below(3.0 / 25.0), Some(5));
        // At the ends of years 4, 5 and 6 progress is 2.5, 3.5 and 4.5 years of decay less 2: a hair on either side.
        for (year, end) in [(4, 5.0), (5, 6.0), (6, 7.0)] {
            let progress = (end - 0.5 - 2.0) / 25.0;
            assert_eq!(below(progress - 1e-9), Some(year));
            assert_eq!(below(progress + 1e-9), Some(year + 1));
        }
    }

    #[test]
    fn a_pole_condemned_without_a_waiting_time_is_replaced_in_the_same_year() {
        let condemns = MethodDetection {
            sensitivity: 0.0,
            false_find: 1.0,
            false_reject: 1.0,
            ..METHOD
        };
        for (within, year) in [(0.0, 0), (0.4, 0), (0.6, 1), (1.0, 1), (2.0, 2)] {
            let policy = Policy {
                replace_within_years: within,
                ..crate::common::policy()
            };
            let told = ten_years(&policy, condemns, 1e9);
            let replaced = (year, Event::Replaced(Kind::Planned));
            assert_eq!(
                told,
                [(0, Event::Inspected), (0, Event::Rejected), replaced],
                "{within}"
            );
        }
    }

    #[test]
    fn a_brace_holds_the_pole_and_is_looked_at() {
        // Below the limit of 0.1 from 27.5 years of age, year 3. Condemned at the first visit, braced in year 1 for 4
        // years, looked at after 3.
        let condemns = MethodDetection {
            sensitivity: 0.0,
            false_find: 1.0,
            false_reject: 1.0,
            ..METHOD
        };
        let policy = Policy {
            reinforce: true,
            reinforcement_life_years: 4.0,
            reinforceable_share: crate::units::Fraction::clamped(1.0),
            ..crate::common::policy()
        };
        let told = ten_years(&policy, condemns, 0.1);
        assert_eq!(
            told[..4],
            [
                (0, Event::Inspected),
                (0, Event::Rejected),
                (1, Event::Reinforced),
                (4, Event::Inspected),
            ]
        );
        // This method condemns whatever it looks at; what has been braced before is replaced.
        assert_eq!(
            told[4..],
            [(4, Event::Rejected), (5, Event::Replaced(Kind::Planned))]
        );
        // Its wood is below the limit at the ends of the years 3 and 4, but the brace holds it.
    }

    #[test]
    fn somebody_looks_when_the_brace_has_lived_its_life() {
        let mut standing = Standing {
            pole: NEW,
            generation: 0,
            next_visit: Some(9),
            replace_in: None,
            reinforce_in: None,
            upkeep: Upkeep::default(),
        };
        standing.look_when_the_brace_ends(1);
        assert_eq!(standing.next_visit, Some(9));
        // Over in the middle of year 5, which is when visits come.
        standing.upkeep.brace(Stretch {
            from: 1.5,
            until: 5.5,
        });
        standing.look_when_the_brace_ends(1);
        assert_eq!(standing.next_visit, Some(5));
        standing.next_visit = Some(9);
        standing.look_when_the_brace_ends(5);
        assert_eq!(standing.next_visit, Some(9));
    }
}
