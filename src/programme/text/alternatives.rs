//! Policies to be compared with the programme's own, as they are written.

use super::twins::WrittenAlternative;
use super::{Completing, suggestion};
use crate::Error;
use crate::programme::Policy;
use crate::programme::alternatives::{Alternative, Turn};

impl Completing<'_> {
    /// The alternatives, each with a name of its own and something that it changes.
    pub(super) fn alternatives(
        &self,
        written: &[WrittenAlternative],
        policy: &Policy,
    ) -> Result<Vec<Alternative>, Error> {
        let mut all: Vec<Alternative> = Vec::new();
        for (place, own) in written.iter().enumerate() {
            let at = format!("alternatives.{place}");
            let own = self.alternative(own, &at)?;
            if all.iter().any(|known| known.name == own.name) {
                return Err(self.place.fault(
                    &format!("{at}.name"),
                    &format!("\"{}\" is the name of another alternative", own.name),
                    "give each a name of its own: it stands in every row",
                ));
            }
            self.can_be_done(&own, policy, &at)?;
            all.push(own);
        }
        Ok(all)
    }

    fn alternative(&self, written: &WrittenAlternative, at: &str) -> Result<Alternative, Error> {
        let key = |name: &str| format!("{at}.{name}");
        let name = written.name.as_deref().map(str::trim).unwrap_or_default();
        if name.is_empty() {
            return Err(self.place.fault(
                at,
                "name is missing",
                "a few words that tell the policies apart: name = \"half the cycle\"",
            ));
        }
        if written.repeat_years.is_some() && written.cycle_factor.is_some() {
            return Err(self.place.fault(
                &key("cycle_factor"),
                "cycle_factor beside repeat_years",
                "give one of them: repeat_years sets every rule's interval, cycle_factor stretches first ages and intervals",
            ));
        }
        let number = |name: &str, given: Option<f64>, range| {
            let own = |value| self.number(&key(name), value, range);
            given.map(own).transpose()
        };
        let age = written.replace_at_age_years.map(|years| {
            let years = self.whole(&key("replace_at_age_years"), Some(years), 0, 1..=200)?;
            Ok::<u16, Error>(years as u16)
        });
        let same = Alternative::unchanged(name);
        let factor = |name: &str, given| {
            let given: Option<f64> = number(name, given, 0.0..=100.0)?;
            Ok::<f64, Error>(given.unwrap_or(1.0))
        };
        Ok(Alternative {
            cycle_factor: number("cycle_factor", written.cycle_factor, 0.1..=10.0)?.unwrap_or(1.0),
            repeat_years: number("repeat_years", written.repeat_years, 0.5..=100.0)?,
            method: self.word(&key("method"), written.method.as_deref())?,
            remedial_treatment: written.remedial_treatment,
            reinforce: written.reinforce,
            inspect: written.inspect.unwrap_or(true),
            replace_at_age_years: age.transpose()?,
            crew_factor: factor("crew_factor", written.crew_factor)?,
            budget_factor: factor("budget_factor", written.budget_factor)?,
            visit_first: self.turn(&key("visit_first"), written.visit_first.as_deref())?,
            ..same
        })
    }

    fn turn(&self, key: &str, given: Option<&str>) -> Result<Turn, Error> {
        let Some(word) = given else {
            return Ok(Turn::default());
        };
        let known = Turn::ALL
            .into_iter()
            .find(|turn| turn.word() == word.trim());
        known.ok_or_else(|| {
            self.place.fault(
                key,
                &format!("\"{word}\" is not known"),
                &suggestion(word, Turn::ALL.into_iter().map(Turn::word), "words"),
            )
        })
    }

    /// Refuses what changes nothing, and what lacks a figure that only the policy can give.
    fn can_be_done(&self, own: &Alternative, policy: &Policy, at: &str) -> Result<(), Error> {
        let agent = policy.remedial_agent.is_some() || policy.treatment_years.is_some();
        let (key, what, help) = if own.changes_nothing() {
            (
                "name",
                "changes nothing",
                "the programme's own policy is always compared; say what this one does otherwise",
            )
        } else if own.remedial_treatment == Some(true) && !agent {
            (
                "remedial_treatment",
                "a treatment of which nothing is known",
                "name policy.remedial_agent or policy.treatment_years; [policy] remedial_treatment may stay false",
            )
        } else if own.reinforce == Some(true) && policy.reinforceable_share.get() <= 0.0 {
            (
                "reinforce",
                "no reject would be fit for a brace",
                "give policy.reinforceable_share; [policy] reinforce may stay false",
            )
        } else {
            return Ok(());
        };
        Err(self.place.fault(&format!("{at}.{key}"), what, help))
    }
}
