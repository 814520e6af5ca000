//! Poles that were condemned and reinforced: how likely they are to be in the list (model section 4).
//!
//! Whoever asks which poles are listed at all does not know which were reinforced: of those that a visit condemns, a share
//! is. While the reinforcement holds, neither wind nor a later visit takes such a pole away; once it has come to its end,
//! both can, and a pole that is condemned then is removed. Knows nothing of findings.

use super::nuisances::{ByNode, MOST_NODES};

/// What a visit means for the poles that it condemns and for those that were reinforced before it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Terms {
    /// Share of the condemned that were reinforced.
    pub share: f64,
    /// When a reinforcement of this visit comes to its end, years before the plan date; negative after it.
    pub until: f64,
    /// Whether a later visit sees such a pole after that.
    pub seen_after: bool,
    /// Chance that a pole condemned at this visit for good is in the data all the same.
    pub kept: f64,
}

/// How likely poles reinforced at a visit are to be in the data, and how likely they were held to be without that.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InData {
    /// Reinforced, later visits apart.
    pub reinforced: f64,
    /// As any other pole.
    pub plain: f64,
}

/// The reinforced poles of one state, at every node.
#[derive(Debug, Clone, Default)]
pub struct Reinforced {
    /// What they add to the chance of being in the data, but for those below.
    held: ByNode,
    /// Poles of which the reinforcement has come to its end.
    exposed: ByNode,
    /// Poles that a later visit will see after the end of theirs, with that end.
    to_be_exposed: Vec<(f64, ByNode)>,
}

impl Reinforced {
    /// A visit so many years before the plan date: `never` are the chances of never having been condemned before it,
    /// `rejected` those of being condemned by it.
    pub fn pass(
        &mut self,
        years_ago: f64,
        terms: &Terms,
        in_data: InData,
        [never, rejected]: [&ByNode; 2],
    ) {
        self.expose(years_ago);
        for (exposed, rejected) in self.exposed.iter_mut().zip(rejected) {
            *exposed *= 1.0 - rejected * (1.0 - terms.kept);
        }
        let mut new = [0.0; MOST_NODES];
        for (node, new) in new.iter_mut().enumerate() {
            let condemned = never[node] * rejected[node] * terms.share;
            self.held[node] -= condemned * in_data.plain;
            *new = condemned * in_data.reinforced;
        }
        if terms.seen_after {
            self.to_be_exposed.push((terms.until, new));
        } else {
            add(&mut self.held, &new);
        }
    }

    /// The reinforcements that have come to their end by then.
    fn expose(&mut self, years_ago: f64) {
        let exposed = &mut self.exposed;
        self.to_be_exposed.retain(|(until, poles)| {
            let holds = *until < years_ago;
            if !holds {
                add(exposed, poles);
            }
            holds
        });
    }

    /// What reinforcement adds to the chance of being in the data at a node.
    pub fn added(&self, node: usize) -> f64 {
        let later = self.to_be_exposed.iter();
        self.held[node] + self.exposed[node] + later.map(|(_, poles)| poles[node]).sum::<f64>()
    }
}

fn add(sum: &mut ByNode, part: &ByNode) {
    for (sum, part) in sum.iter_mut().zip(part) {
        *sum += part;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const ALL: ByNode = [1.0; MOST_NODES];

    #[test]
    fn a_reinforced_pole_is_safe_from_visits_until_its_reinforcement_ends() {
        let terms = |until: f64| Terms {
            share: 0.5,
            until,
            seen_after: true,
            kept: 0.0,
        };
        let in_data = InData {
            reinforced: 1.0,
            plain: 0.0,
        };
        let rejected = [0.4; MOST_NODES];
        let none = [0.0; MOST_NODES];
        // Condemned 30 years ago (0.4), half of them reinforced for 15 years, and seen again 20, 10 and 5 years ago by
        // visits that condemn 0.4: the first finds the reinforcement, the others take 0.4 each: 0.2 x 0.6^2.
        let mut poles = Reinforced::default();
        poles.pass(30.0, &terms(15.0), in_data, [&ALL, &rejected]);
        for years_ago in [20.0, 10.0, 5.0] {
            poles.pass(years_ago, &terms(-10.0), in_data, [&none, &rejected]);
        }
        assert!((poles.added(0) - 0.072).abs() < 1e-12, "{}", poles.added(0));
    }

    #[test]
    fn what_is_counted_elsewhere_is_taken_off() {
        let terms = Terms {
            share: 0.3,
            until: -5.0,
            seen_after: false,
            kept: 0.0,
        };
        let in_data = InData {
            reinforced: 0.9,
            plain: 0.6,
        };
        let mut poles = Reinforced::default();
        poles.pass(15.0, &terms, in_data, [&ALL, &[0.5; MOST_NODES]]);
        // 0.5 condemned, 0.3 of them reinforced, 0.9 in the data where 0.6 were counted.
        assert!((poles.added(0) - 0.045).abs() < 1e-12);
    }
}
