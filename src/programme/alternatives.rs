//! Policies to be compared with the programme's own: what each changes, and the programme that it makes of it.
//!
//! Plain values; the text form is in `text/alternatives.rs`, the comparison in [`crate::compare`]. No alternative changes
//! what is known or believed, what is recorded, or what the owner decided of single poles, and none lets a recorded danger
//! or reject wait: policies differ in what is done from the plan date on.

use super::money::Limits;
use super::{Programme, RuleKind};
use crate::pole::Method;

/// Whose turn comes first where the crews cannot visit all at once.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Turn {
    /// The visit that is worth most, as in every plan.
    #[default]
    MostWorth,
    /// The earliest due date, and nobody before it: the plain fixed cycle.
    EarliestDue,
    /// The oldest pole.
    Oldest,
    /// The pole that is most probably below the limit.
    LikeliestBelow,
}

impl Turn {
    /// All.
    pub const ALL: [Self; 4] = [
        Self::MostWorth,
        Self::EarliestDue,
        Self::Oldest,
        Self::LikeliestBelow,
    ];

    /// The word in programmes.
    pub const fn word(self) -> &'static str {
        match self {
            Self::MostWorth => "most_worth",
            Self::EarliestDue => "earliest_due",
            Self::Oldest => "oldest",
            Self::LikeliestBelow => "likeliest_below_limit",
        }
    }
}

/// A policy to be compared with the programme's own. What is not given stays as the programme has it.
#[derive(Debug, Clone, PartialEq)]
pub struct Alternative {
    /// Name, as it stands in the outputs.
    pub name: String,
    /// By what every rule's first age and intervals are multiplied.
    pub cycle_factor: f64,
    /// Years from one inspection to the next, for every rule.
    pub repeat_years: Option<f64>,
    /// Method of planned inspections; rules that ask for a stronger one still do.
    pub method: Option<Method>,
    /// Whether poles with decay that stay are given a remedial treatment at the visit.
    pub remedial_treatment: Option<bool>,
    /// Whether rejects that a brace would restore are reinforced.
    pub reinforce: Option<bool>,
    /// Whether anything is inspected at all, but for what the owner fixed pole by pole.
    pub inspect: bool,
    /// Age in whole years at which every pole is replaced unseen.
    pub replace_at_age_years: Option<u16>,
    /// By what the crew-days of inspection are multiplied.
    pub crew_factor: f64,
    /// By what the limits of money are multiplied.
    pub budget_factor: f64,
    /// Whose turn comes first.
    pub visit_first: Turn,
}

impl Alternative {
    /// The programme's own policy under a name.
    pub fn unchanged(name: &str) -> Self {
        Self {
            name: name.to_owned(),
            cycle_factor: 1.0,
            repeat_years: None,
            method: None,
            remedial_treatment: None,
            reinforce: None,
            inspect: true,
            replace_at_age_years: None,
            crew_factor: 1.0,
            budget_factor: 1.0,
            visit_first: Turn::MostWorth,
        }
    }

    /// Whether it is the programme's own policy.
    pub fn changes_nothing(&self) -> bool {
        *self == Self::unchanged(&self.name)
    }

    /// Whether rules, methods and answers to findings are the programme's own, so that the value of a visit is too.
    pub fn keeps_the_rules(&self) -> bool {
        let rest = Self {
            crew_factor: 1.0,
            budget_factor: 1.0,
            visit_first: Turn::MostWorth,
            ..self.clone()
        };
        rest.changes_nothing()
    }

    /// The programme with this policy in place of its own.
    pub fn of(&self, programme: &Programme) -> Programme {
        let mut own = programme.clone();
        for rule in &mut own.inspections {
            rule.first_age_years *= self.cycle_factor;
            rule.repeat_years = self.repeat_years.unwrap_or(rule.repeat_years) * self.cycle_factor;
            rule.after_decay_years = rule
                .after_decay_years
                .map(|years| years * self.cycle_factor);
        }
        if !self.inspect {
            own.inspections.clear();
            own.crews.crew_days_per_year = 0.0;
        }
        own.crews.crew_days_per_year *= self.crew_factor;
        for limits in [&mut own.budget.operating, &mut own.budget.capital] {
            *limits = limits.take().map(|limits| match limits {
                Limits::EveryYear(limit) => Limits::EveryYear(limit * self.budget_factor),
                Limits::ByYear(years) => Limits::ByYear(
                    years
                        .iter()
                        .map(|limit| limit * self.budget_factor)
                        .collect(),
                ),
            });
        }
        let policy = &mut own.policy;
        policy.method = self.method.unwrap_or(policy.method);
        policy.remedial_treatment = self.remedial_treatment.unwrap_or(policy.remedial_treatment);
        policy.reinforce = self.reinforce.unwrap_or(policy.reinforce);
        own
    }

    /// Names of the laws whose first age or intervals this policy does not keep.
    pub fn laws_not_kept<'p>(&self, programme: &'p Programme) -> Vec<&'p str> {
        let own = self.of(programme).inspections;
        let longer = |place: usize| {
            own.get(place).is_none_or(|rule| {
                let law = &programme.inspections[place];
                rule.repeat_years > law.repeat_years || rule.first_age_years > law.first_age_years
            })
        };
        let rules = programme.inspections.iter().enumerate();
        rules
            .filter(|(place, rule)| rule.kind == RuleKind::Law && longer(*place))
            .map(|(_, rule)| rule.name.as_str())
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::common::{programme, rule};
    use crate::programme::InspectionRule;

    #[test]
    fn an_alternative_changes_what_it_says_and_nothing_else() {
        let mut programme = programme();
        programme.budget.capital = Some(Limits::ByYear(vec![100.0, 200.0]));
        let same = Alternative::unchanged("as it is");
        assert!(same.changes_nothing() && same.keeps_the_rules());
        assert_eq!(same.of(&programme), programme);
        let half = Alternative {
            cycle_factor: 0.5,
            crew_factor: 2.0,
            budget_factor: 1.5,
            ..same.clone()
        };
        assert!(!half.keeps_the_rules());
        let own = half.of(&programme);
        assert_eq!(
            (
                own.inspections[0].first_age_years,
                own.inspections[0].repeat_years
            ),
            (6.0, 5.0)
        );
        let crews = &own.crews;
        assert_eq!(
            (crews.crew_days_per_year, crews.poles_per_crew_day),
            (2_000.0, programme.crews.poles_per_crew_day)
        );
        assert_eq!(own.budget.capital, Some(Limits::ByYear(vec![150.0, 300.0])));
        assert_eq!(own.policy, programme.policy);
    }

    #[test]
    fn a_law_that_is_stretched_or_dropped_is_named() {
        let mut programme = programme();
        programme.inspections.push(InspectionRule {
            kind: RuleKind::Law,
            ..rule("the law", 15.0, 10.0)
        });
        let laws = |alternative: Alternative| {
            let laws = alternative.laws_not_kept(&programme);
            laws.into_iter().map(str::to_owned).collect::<Vec<_>>()
        };
        let same = Alternative::unchanged("x");
        assert!(laws(same.clone()).is_empty());
        let cycle = |cycle_factor| Alternative {
            cycle_factor,
            ..same.clone()
        };
        assert!(laws(cycle(0.5)).is_empty());
        assert_eq!(laws(cycle(1.5)), ["the law"]);
        let none = Alternative {
            inspect: false,
            ..same.clone()
        };
        assert_eq!(laws(none), ["the law"]);
    }
}
