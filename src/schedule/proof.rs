//! How near a plan is to the best that there can be, in figures that a report can print.
//!
//! The bound is over all plans that make the same trips (the stretches' poles that this plan visits together, and those
//! that it leaves out), each in any year of the schedule or in none, with the crew-days that there are and no more
//! pole-years late, by law than this plan and by all rules than years filled in order. The plan that comes nearest may then
//! have given up a share of its worth so that the worst poles are reached earlier; the gap is that of before.

/// What is proven of a plan.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Proof {
    /// What the visits of the first pass are worth, years filled in order, rules first; units of cost.
    pub at_first: f64,
    /// What the visits of the plan are worth: total J that they save over waiting for the due year; units of cost.
    pub reached: f64,
    /// What those of the best plan found are worth, of which some was given up for the worst poles; units of cost.
    pub best: f64,
    /// What no plan of the same trips is worth more than; units of cost.
    pub bound: f64,
    /// Pole-years that poles which are below the limit at the plan date wait for their visit, expected, those of no visit
    /// counted to the end of the schedule.
    pub waiting: f64,
    /// The same in the best plan found.
    pub waiting_at_best: f64,
    /// Trips.
    pub trips: usize,
    /// Pole-years past the day that a law wants, visits that are not planned counted to the end of the schedule.
    pub late_by_law: u64,
    /// The same past the due year of the binding rule.
    pub late_by_rule: u64,
    /// Poles that are due within the schedule and not planned for want of crew-days or money.
    pub not_planned: usize,
    /// What one more crew-week in each plan year would raise the bound by, at most; units of cost.
    pub crew_week: Vec<f64>,
    /// What one more unit of operating money in each plan year would raise the bound by, at most; 0 where it has no limit.
    pub money: Vec<f64>,
    /// The same work planned for fewer and for more crew-days.
    pub other_crews: Vec<OtherCrews>,
}

/// What other crew-days, and in proportion other limits of money, would make of the same work.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OtherCrews {
    /// Crew-days over those of the programme.
    pub share: f64,
    /// Poles that are due within the schedule and not planned.
    pub not_planned: usize,
    /// Pole-years past the day that a law wants.
    pub late_by_law: u64,
    /// Pole-years past the due year of the binding rule.
    pub late_by_rule: u64,
    /// What the visits are worth, in units of cost.
    pub reached: f64,
    /// What no plan of the same trips is worth more than.
    pub bound: f64,
}

impl Proof {
    /// Share of the bound that the best plan found may miss; 0 where there is nothing to be had.
    pub fn gap(&self) -> f64 {
        let missed = self.bound - self.best;
        if missed > 0.0 {
            missed / self.bound.abs().max(missed)
        } else {
            0.0
        }
    }

    /// Share of what the best plan found saves that is given up so that the worst poles are reached earlier.
    pub fn given_up(&self) -> f64 {
        let missed = self.best - self.reached;
        if missed > 0.0 {
            missed / self.best.abs().max(missed)
        } else {
            0.0
        }
    }
}
