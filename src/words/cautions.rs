//! The cautions that every output carries: what an estimate can never do, and what the field must beware of.
//!
//! The owner's procedures, local codes and licensed practice decide; these sentences only point at them. Each pole gets
//! the one that fits its row best, always followed by the one that holds for all.

use super::Case;
use crate::pole::{Consequence, Method, Verdict};
use crate::schedule::{Action, Priority, Standing};

/// A caution.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Caution {
    /// An estimate clears no pole.
    Estimate,
    /// Check and secure before climbing.
    Climbing,
    /// Sight and hammer prove nothing at the groundline; overdue means unknown.
    NotProven,
    /// Energised lines.
    Energised,
    /// Digging.
    Digging,
    /// Boring and chemicals.
    Boring,
    /// Handling treated wood.
    TreatedWood,
    /// Deferral needs a name and an interim control.
    Deferral,
    /// Flagged poles: base, tags, attachments.
    Flagged,
    /// Reinforced poles.
    Reinforced,
    /// Fire, school and road spans.
    Consequence,
}

impl Caution {
    /// All cautions, in the order in which reports list them.
    pub const ALL: [Self; 11] = [
        Self::Estimate,
        Self::Climbing,
        Self::NotProven,
        Self::Energised,
        Self::Digging,
        Self::Boring,
        Self::TreatedWood,
        Self::Deferral,
        Self::Flagged,
        Self::Reinforced,
        Self::Consequence,
    ];

    /// The sentence.
    pub const fn text(self) -> &'static str {
        match self {
            Self::Estimate => {
                "An estimate from the desk sets priorities; it never clears a pole for climbing, loading or work, and a low rank never proves a pole sound."
            }
            Self::Climbing => {
                "Nobody climbs it or changes its load before a qualified person has checked it on site: secure it first or work from a lift, and remove no guy or conductor before it is supported."
            }
            Self::NotProven => {
                "Its condition at the groundline is not proven: it is overdue, or was never dug or bored."
            }
            Self::Energised => {
                "Energised line: approach distances, permits and isolation are the owner's."
            }
            Self::Digging => {
                "Before digging locate buried services; keep a weak pole supported; backfill and firm the same day."
            }
            Self::Boring => {
                "Plug and treat every bored hole; look for bees, birds and earlier fumigant; remedial chemicals only by licensed people and by the label."
            }
            Self::TreatedWood => {
                "Treated wood: gloves, dust mask and eye protection, wash before food; no open burning, mulch or indoor use; re-use and disposal by local law."
            }
            Self::Deferral => {
                "Crews or money do not excuse it: to defer what a rule or a finding calls for takes a named person and an interim control."
            }
            Self::Flagged => {
                "Flagged pole: no climbing and no new load; look for risers, earth wires and buried services at the base; tell other owners and attachers, and transfer before removal."
            }
            Self::Reinforced => "A reinforced pole still needs inspection.",
            Self::Consequence => {
                "A failure here endangers people or property: take the nearer date, whatever the model says."
            }
        }
    }
}

/// The caution that fits one row best.
pub fn fitting(case: &Case<'_>) -> Caution {
    let row = case.row();
    let seen = case.last().map(|last| last.verdict);
    let action = match row.standing {
        Standing::Planned { action, .. } | Standing::Deferred { action, .. } => Some(action),
        Standing::NotDue => None,
    };
    if row.priority == Priority::Danger
        || action == Some(Action::MakeSafe)
        || seen == Some(Verdict::Danger)
    {
        return Caution::Climbing;
    }
    if matches!(row.standing, Standing::Deferred { .. }) {
        return Caution::Deferral;
    }
    if matches!(action, Some(Action::Replace | Action::Reinforce))
        || seen.is_some_and(Verdict::is_reject)
    {
        return Caution::Flagged;
    }
    if row.overdue_days > 0 || !case.was_bored() {
        return Caution::NotProven;
    }
    if case.facts().consequence == Some(Consequence::High) {
        return Caution::Consequence;
    }
    if case.facts().reinforced.is_some() {
        return Caution::Reinforced;
    }
    Caution::Estimate
}

/// What the planned work itself asks to beware of.
fn of_the_work(case: &Case<'_>) -> &'static [Caution] {
    let row = case.row();
    let Standing::Planned { action, .. } = row.standing else {
        return &[];
    };
    match (action, row.method) {
        (Action::Inspect, Some(Method::PartialExcavation | Method::FullExcavation)) => {
            &[Caution::Digging, Caution::Boring]
        }
        (Action::Inspect, Some(Method::SoundAndBore)) => &[Caution::Boring],
        (Action::Inspect, _) => &[],
        (Action::Reinforce, _) => &[Caution::Digging, Caution::Reinforced],
        (Action::Replace | Action::MakeSafe, _) => &[Caution::Energised, Caution::TreatedWood],
    }
}

/// What to beware of at one pole: the fitting caution, those of the planned work, and the one that holds for all. Never
/// empty.
pub fn caution_of(case: &Case<'_>) -> String {
    said(of_a_pole(case).chain([Caution::Estimate]))
}

/// What to beware of on a round: whatever holds for any of its poles, each once, and the one that holds for all.
pub fn caution_of_round<'a>(cases: impl Iterator<Item = Case<'a>>) -> String {
    let any: Vec<Caution> = cases.flat_map(|case| of_a_pole(&case)).collect();
    let once = Caution::ALL
        .into_iter()
        .filter(|caution| any.contains(caution));
    said(once.chain([Caution::Estimate]))
}

fn of_a_pole(case: &Case<'_>) -> impl Iterator<Item = Caution> + use<> {
    let fitting = Some(fitting(case)).filter(|caution| *caution != Caution::Estimate);
    fitting.into_iter().chain(of_the_work(case).iter().copied())
}

fn said(cautions: impl Iterator<Item = Caution>) -> String {
    let texts: Vec<&str> = cautions.map(Caution::text).collect();
    texts.join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::words::sample;

    #[test]
    fn every_pole_is_told_that_an_estimate_clears_nothing() {
        let sample = sample::fleet();
        for pole in sample.inventory.indices() {
            assert!(caution_of(&sample.case(pole)).contains("never clears a pole for climbing"));
        }
    }

    #[test]
    fn the_caution_fits_the_row() {
        let sample = sample::fleet();
        let of = |id: &str| fitting(&sample.case_of(id));
        assert_eq!(of("A-1"), Caution::Climbing);
        assert_eq!(of("A-2"), Caution::Flagged);
        assert_eq!(of("A-3"), Caution::NotProven);
        assert_eq!(of("B-1"), Caution::Deferral);
        assert_eq!(of("B-2"), Caution::Estimate);
    }

    #[test]
    fn a_round_carries_what_any_of_its_poles_calls_for_once() {
        let sample = sample::fleet();
        let cases = || {
            ["A-1", "A-3", "A-3", "B-2"]
                .into_iter()
                .map(|id| sample.case_of(id))
        };
        let text = caution_of_round(cases());
        for case in cases() {
            assert!(text.contains(fitting(&case).text()), "{text}");
        }
        assert_eq!(text.matches(Caution::NotProven.text()).count(), 1);
        assert_eq!(text.matches(Caution::Estimate.text()).count(), 1);
        assert_eq!(caution_of_round([].into_iter()), Caution::Estimate.text());
    }

    #[test]
    fn replacing_a_pole_warns_of_the_line_and_of_treated_wood() {
        let sample = sample::fleet();
        let text = caution_of(&sample.case_of("A-2"));
        assert!(
            text.contains("approach distances") && text.contains("dust mask"),
            "{text}"
        );
    }
}
