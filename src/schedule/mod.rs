//! What to do when: every pole planned, deferred with a coded reason, or not due (model section 7).
//!
//! The schedule reads beliefs, never trials. [`mod@audit`] re-derives every promise without the scheduler's code and
//! imports only this file.

pub mod audit;
mod best;
#[cfg(test)]
mod best_tests;
mod complaints;
mod crew_prices;
mod decided;
pub mod due;
mod exchange;
mod filling;
mod improve;
mod locks;
mod offers;
pub mod overview;
pub mod packages;
pub mod prices;
pub mod proof;
mod rounds;
mod rows;
pub mod solve;
mod trips;
pub mod waiting;
mod work;
pub mod worth;

pub use crate::pole::Action;
pub use audit::{Breach, audit};
pub use decided::{Decided, DecisionIndex, Decisions, Outcome, Refusal, When};
pub use overview::{LineRound, Overdue};
pub use proof::{OtherCrews, Proof};
pub use solve::{decide, schedule, schedule_in_turn, schedule_with};
pub use waiting::VisitValues;

use crate::pole::{Defect, Method, NameIndex, PoleIndex, Verdict};
use crate::programme::Policy;
use crate::units::{Date, date_after, days_after};

/// Where a pole stands in the schedule.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// Planned in a plan year (0: the first).
    Planned {
        /// What.
        action: Action,
        /// Plan year, counted from 0.
        year: u16,
        /// The package that it belongs to, for inspections.
        package: Option<PackageIndex>,
    },
    /// Called for, but not planned; the reason is coded.
    Deferred {
        /// What was called for.
        action: Action,
        /// Why it is not planned.
        reason: Deferral,
    },
    /// Nothing calls for work within the years of the schedule.
    NotDue,
}

/// Why something called for is not planned.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Deferral {
    /// No crew-days are left in any year of the schedule.
    CrewDays,
    /// Some year has crew-days left, but none of those has money left within its limit.
    Money,
    /// The owner decided so: left out, or not before a plan year.
    Decision {
        /// Plan year in which it is done; beyond the schedule where it is not in it.
        until: u16,
    },
}

impl Deferral {
    /// Whether there is too little of something, rather than that the owner decided so.
    pub const fn is_for_want(self) -> bool {
        matches!(self, Self::CrewDays | Self::Money)
    }

    /// The code in tables.
    pub const fn code(self) -> &'static str {
        match self {
            Self::CrewDays => "crew_days",
            Self::Money => "money",
            Self::Decision { .. } => "owners_decision",
        }
    }
}

/// What makes an inspection due.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum DueBecause {
    /// The pole reached the age of its first inspection.
    FirstAge,
    /// The interval since the last inspection is over.
    Repeat,
    /// The shorter interval after decay was found is over.
    AfterDecay,
    /// The reinforcement has lived its stated life: somebody must look and decide.
    BraceEnds,
    /// Neither an inspection nor the set date is recorded: nothing proves that it is not overdue.
    NothingRecorded,
}

/// The binding due date of a pole: the earliest of all rules that bind it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Due {
    /// The date.
    pub date: Date,
    /// The rule's place in the programme.
    pub rule: usize,
    /// What makes it due.
    pub because: DueBecause,
}

/// Why a pole stands where it stands in the list; `words` makes the sentence.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Reason {
    /// Judged dangerous, and no later inspection or named engineer cleared it.
    Danger {
        /// When.
        date: Date,
    },
    /// Judged below the limit, not cleared since.
    Reject {
        /// When.
        date: Date,
        /// The verdict.
        verdict: Verdict,
        /// The end of the reinforcement that settled it until then.
        braced_until: Option<Date>,
    },
    /// A defect above the groundline calls for it, and no later visit found it gone.
    AboveGround {
        /// When it was recorded.
        date: Date,
        /// The defect.
        defect: Defect,
        /// Days within which it is acted upon.
        within_days: i32,
    },
    /// A rule calls for an inspection.
    Rule {
        /// Days overdue at the plan date; 0 or less when not overdue.
        overdue_days: i32,
    },
    /// No rule calls for it in that year yet, but what is believed of the wood does.
    Condition,
    /// It stands on a line whose round is planned.
    WithItsLine,
    /// The owner decided so; no rule calls for it within the schedule.
    Decision,
    /// Nothing calls for work.
    Nothing,
}

/// Order of urgency: the first thing that a list is sorted by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Priority {
    /// Act today by the owner's own procedure.
    Danger = 1,
    /// A recorded reject, or an inspection that a law calls for and that is overdue.
    MustDo = 2,
    /// Due by a rule within the schedule.
    Due = 3,
    /// Called for by the estimated condition.
    Condition = 4,
    /// Nothing calls for it.
    None = 5,
}

/// One pole in the schedule.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Row {
    /// The pole.
    pub pole: PoleIndex,
    /// Planned, deferred or not due.
    pub standing: Standing,
    /// Method of the planned inspection.
    pub method: Option<Method>,
    /// The binding rule and its date. `None` where no rule binds the pole, and where it is to be replaced or made safe:
    /// then its verdict sets the date ([`Row::deadline`]).
    pub due: Option<Due>,
    /// Days from the deadline to the plan date; 0 when not overdue.
    pub overdue_days: i32,
    /// Urgency.
    pub priority: Priority,
    /// Value of a visit in the planned year (in the first plan year, where none is planned), in units of cost.
    pub value_of_visit: f64,
    /// Why.
    pub reason: Reason,
}

impl Row {
    /// The day by which something must be done: a verdict's where one stands, otherwise the binding rule's.
    pub fn deadline(&self, policy: &Policy) -> Option<Date> {
        match self.reason {
            Reason::Danger { date } => Some(days_after(date, policy.make_safe_within_days)),
            Reason::Reject {
                date, braced_until, ..
            } => Some(date_after(
                braced_until.unwrap_or(date),
                policy.replace_within_years,
            )),
            Reason::AboveGround {
                date, within_days, ..
            } => Some(days_after(date, within_days)),
            _ => self.due.map(|due| due.date),
        }
    }
}

/// A package's place in [`Schedule::packages`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PackageIndex(pub u32);

/// Inspections done together: a line, or a stretch of one, in one year.
#[derive(Debug, Clone, PartialEq)]
pub struct Package {
    /// Name: the line and the stretch.
    pub name: String,
    /// The line; `None` for poles of no line, and of several.
    pub line: Option<NameIndex>,
    /// Plan year, counted from 0; `None` when no year has room.
    pub year: Option<u16>,
    /// The poles, in walking order.
    pub poles: Vec<PoleIndex>,
    /// Method.
    pub method: Method,
    /// Crew-days that it takes.
    pub crew_days: f64,
}

/// How a pole's visits go on through the years: what a trial lives through.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Visits {
    /// Plan year of the next inspection. Beyond the schedule's years it is the year in which a rule calls for it, and the
    /// first year after the schedule for a deferred pole, but where the owner put it off to a year. `None` when no rule binds the pole, or it is to be replaced.
    pub first: Option<u16>,
    /// Whole years from one inspection to the next.
    pub repeat_years: u16,
    /// Whole years to the next inspection after decay was found.
    pub after_decay_years: u16,
    /// Whole years from setting a pole to its first inspection.
    pub first_age_years: u16,
    /// Whole years from one inspection to the next while a reinforcement that is yet to be fitted stands.
    pub braced_years: u16,
    /// Method.
    pub method: Method,
    /// Plan year in which a pole already rejected or judged dangerous is replaced.
    pub replace: Option<u16>,
    /// Plan year in which a pole already rejected is reinforced.
    pub reinforce: Option<u16>,
    /// Age in whole years at which whatever stands there is replaced, whatever is known of it: a policy to compare with.
    pub replace_at_age: Option<u16>,
}

/// The schedule of a fleet.
#[derive(Debug, Clone, PartialEq)]
pub struct Schedule {
    /// One row a pole, by [`PoleIndex`].
    pub rows: Vec<Row>,
    /// All poles, most urgent first.
    pub ranking: Vec<PoleIndex>,
    /// The packages.
    pub packages: Vec<Package>,
    /// How each pole's visits go on, by [`PoleIndex`].
    pub visits: Vec<Visits>,
    /// Crew-days used in each plan year. What the owner fixed may take more than there are.
    pub crew_days: Vec<f64>,
    /// What the owner's decisions came to.
    pub decisions: Decisions,
    /// How near the plan is to the best that there can be.
    pub proof: Proof,
}

impl Schedule {
    /// The row of one pole.
    pub fn row(&self, pole: PoleIndex) -> &Row {
        &self.rows[pole.get()]
    }

    /// One package.
    pub fn package(&self, index: PackageIndex) -> &Package {
        &self.packages[index.0 as usize]
    }
}
