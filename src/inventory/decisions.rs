//! The owner's decisions as they were read: whom they are about, what was decided, by whom and why.
//!
//! Only facts: whether a decision is complete enough for what it would put off, and what it does, is the schedule's.

use crate::pole::{Action, DecisionKind, Method, NameIndex, PoleIndex};
use crate::problem::{Cell, Source};
use crate::units::Date;

/// What a decision is about.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Target {
    /// One pole.
    Pole(PoleIndex),
    /// Every pole of a package, by the package's name.
    Package(String),
    /// Every pole of a line.
    Line(NameIndex),
}

/// One decision.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Decision {
    /// What it is about.
    pub target: Target,
    /// What was decided.
    pub kind: DecisionKind,
    /// Year, as schedules label it: the calendar year in which a plan year begins.
    pub year: Option<i16>,
    /// The method, of a decision on a method.
    pub method: Option<Method>,
    /// The action, of a decision on an action.
    pub action: Option<Action>,
    /// When it was made; the first day that is meant where only a month or a year is known.
    pub date: Option<Date>,
    /// Who made it.
    pub by: Option<String>,
    /// Why.
    pub reason: Option<String>,
    /// What keeps people safe meanwhile.
    pub interim_control: Option<String>,
    /// The last day on which it holds without being looked at again.
    pub review_date: Option<Date>,
    /// The cell that says what was decided.
    pub cell: Cell,
    /// Where it stands.
    pub source: Source,
}
