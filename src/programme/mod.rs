//! The owner's decisions: limits, rules, policy, crews, money, and where the files are.
//!
//! Plain values. The text form (TOML, with its defaults and messages) is in [`text`]; `respond`, the one answer to
//! "found this, now what", is in [`policy`].

pub mod alternatives;
pub mod money;
pub mod policy;
pub mod rules;
pub mod sources;
pub mod supply;
pub mod text;

pub use alternatives::{Alternative, Turn};
pub use money::{Account, Budget, Costs};
pub use policy::{Policy, Response, Round, Seen, respond};
pub use rules::{
    AboveGroundAction, AboveGroundRule, AppliesTo, InspectionRule, Limit, RejectRule, RuleKind,
};
pub use sources::Sources;
pub use supply::Supply;

use crate::pole::Method;
use crate::units::{Date, Fraction, Zone, anniversary};

/// Everything an owner decides for one plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Programme {
    /// Title of the plan, as it stands on its outputs.
    pub title: String,
    /// The day from which the plan is made: nothing later is read, nothing earlier is planned.
    pub plan_from: Date,
    /// Years for which visits are scheduled.
    pub schedule_years: u16,
    /// Years for which replacements are forecast; at least `schedule_years`.
    pub horizon_years: u16,
    /// Monte Carlo trials.
    pub trials: u32,
    /// Seed of all draws.
    pub seed: u64,
    /// Decay zone of poles whose list gives none.
    pub default_zone: Zone,
    /// Years between which poles were set when nothing in the list says (first, last).
    pub assumed_install_years: (i16, i16),
    /// Limits below which a pole is rejected.
    pub rejects: Vec<RejectRule>,
    /// When poles are to be inspected.
    pub inspections: Vec<InspectionRule>,
    /// What defects above the groundline call for.
    pub above_ground: Vec<AboveGroundRule>,
    /// What is done with what is found.
    pub policy: Policy,
    /// Who does the work.
    pub crews: Crews,
    /// What things cost.
    pub costs: Costs,
    /// How much may be spent.
    pub budget: Budget,
    /// What becomes of rejected poles in the list.
    pub removals: Removals,
    /// Failures in storms and the demand that has nothing to do with decay.
    pub hazards: Hazards,
    /// Which rows are about this plan.
    pub scope: Scope,
    /// Where the files are and how they are read.
    pub sources: Sources,
    /// What is bought, and how.
    pub supply: Supply,
    /// Policies to be compared with the one above.
    pub alternatives: Vec<Alternative>,
    /// Keys that were left at a default that has no source behind it: printed as warnings.
    pub assumed: Vec<Assumed>,
}

/// A default that stands in for a figure which only the owner knows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Assumed {
    /// The key in the programme, as one would write it: `crews.crew_days_per_year`.
    pub key: &'static str,
    /// The value taken.
    pub value: String,
    /// Where the value comes from: a citation or a mark.
    pub mark: &'static str,
}

/// Inspection crews.
#[derive(Debug, Clone, PartialEq)]
pub struct Crews {
    /// Crew-days of inspection a year.
    pub crew_days_per_year: f64,
    /// Poles inspected in a crew-day, by [`Method::index`].
    pub poles_per_crew_day: [f64; Method::ALL.len()],
}

/// What becomes of rejected poles between the verdict and today (model section 4: who is still listed).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Removals {
    /// Share of rejects that were reinforced and stay in the list.
    pub reinforced_share: Fraction,
    /// Mean years from a reject verdict to the removal of the pole from the list.
    pub mean_years_to_removal: f64,
    /// The removed poles that the lists hold, where they hold all of some causes.
    pub listed: Option<ListedRemovals>,
}

/// Which removed poles the owner's lists hold: all of these causes that went since a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ListedRemovals {
    /// The first day.
    pub since: Date,
    /// By [`RemovalCause::index`](crate::pole::RemovalCause::index).
    pub causes: [bool; 3],
}

impl Removals {
    /// Probability that a rejected pole is still listed `lag` years after the verdict.
    pub fn still_listed(&self, lag: f64) -> f64 {
        let kept = self.reinforced_share.get();
        kept + (1.0 - kept) * self.not_yet_removed(lag)
    }

    /// The same of a rejected pole that is not reinforced.
    pub fn not_yet_removed(&self, lag: f64) -> f64 {
        crate::maths::exp(-lag.max(0.0) / self.mean_years_to_removal.max(1e-6))
    }
}

/// Storms, and demand from outside the model.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hazards {
    /// Design wind moment over the mean capacity of a new pole.
    pub use_of_capacity: f64,
    /// Coefficient of variation of pole strength.
    pub strength_cov: f64,
    /// Yearly share of poles replaced for reasons that have nothing to do with decay: vehicles, road works, upgrades.
    pub other_demand: f64,
    /// What the design wind moment was multiplied by to get the strength that lists require of their poles; `None` when
    /// the lists' loadings say nothing of the design wind.
    pub load_factor: Option<f64>,
}

/// Which rows are about this plan. An empty list admits every value; unknown values are admitted.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Scope {
    /// Owners whose poles are planned, as the list writes them.
    pub owners: Vec<String>,
    /// Statuses that are planned.
    pub statuses: Vec<crate::pole::Status>,
    /// Whether poles whose notes say that they are gone are out of scope. Otherwise they stay in, flagged: a visit to a
    /// pole that is gone costs little, a pole forgotten because of a note about another one may cost a life.
    pub drop_if_notes_say_gone: bool,
}

impl Programme {
    /// The rule for a defect above the groundline: of several the most urgent, what is to be made safe first.
    pub fn above_ground_rule(&self, defect: crate::pole::Defect) -> Option<&AboveGroundRule> {
        let rules = self.above_ground.iter();
        rules
            .filter(|rule| rule.defects.contains(&defect))
            .min_by_key(|rule| (rule.action == AboveGroundAction::Replace, rule.within_days))
    }

    /// The first calendar year of the plan.
    pub fn first_year(&self) -> i16 {
        self.plan_from.year()
    }

    /// The day on which a plan year begins, counted from 0; negative years lie before the plan.
    pub fn year_start(&self, year: i32) -> Date {
        anniversary(self.plan_from, year)
    }

    /// The plan year in which a date lies, counted from 0; negative before the plan.
    pub fn year_of(&self, date: Date) -> i32 {
        let years = i32::from(date.year()) - i32::from(self.plan_from.year());
        if date < self.year_start(years) {
            years - 1
        } else {
            years
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::common::programme;
    use jiff::civil::date;

    #[test]
    fn plan_years_run_from_anniversary_to_anniversary() {
        let mut programme = programme();
        programme.plan_from = date(2025, 4, 1);
        assert_eq!(programme.year_start(2), date(2027, 4, 1));
        for (day, year) in [
            (date(2025, 4, 1), 0),
            (date(2026, 3, 31), 0),
            (date(2026, 4, 1), 1),
            (date(2025, 3, 31), -1),
            (date(2020, 1, 1), -6),
        ] {
            assert_eq!(programme.year_of(day), year, "{day}");
        }
    }
}
