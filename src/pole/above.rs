//! Defects above the groundline: what is recorded of them, as facts. The model of the wood never sees them.

use super::Vocabulary;

/// A defect above the groundline.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Defect {
    /// Decay of the top.
    Top,
    /// A split or a deep check.
    Split,
    /// Woodpecker holes.
    Woodpecker,
    /// Insects.
    Insect,
    /// Fire.
    Fire,
    /// Impact of a vehicle, a machine or a tree.
    Impact,
    /// The pole leans.
    Lean,
}

impl Vocabulary for Defect {
    const WORDS: &'static [(Self, &'static str, &'static str)] = &[
        (Self::Top, "top", "decay of the top"),
        (Self::Split, "split", "a split or a deep check"),
        (Self::Woodpecker, "woodpecker", "woodpecker holes"),
        (Self::Insect, "insect", "insects"),
        (Self::Fire, "fire", "fire"),
        (
            Self::Impact,
            "impact",
            "impact of a vehicle, machine or tree",
        ),
        (Self::Lean, "lean", "the pole leans"),
    ];
}

/// The defects that one visit recorded; empty where it looked and found none.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Defects(u8);

impl Defects {
    /// With one more.
    #[must_use]
    pub const fn with(self, defect: Defect) -> Self {
        Self(self.0 | 1 << defect as u8)
    }

    /// Whether this one is among them.
    pub const fn has(self, defect: Defect) -> bool {
        self.0 & 1 << defect as u8 != 0
    }

    /// Those that were recorded, in the order of the vocabulary.
    pub fn iter(self) -> impl Iterator<Item = Defect> {
        Defect::WORDS
            .iter()
            .map(|(defect, _, _)| *defect)
            .filter(move |defect| self.has(*defect))
    }
}

#[cfg(test)]
mod tests {
    use super::{Defect, Defects};

    #[test]
    fn a_set_holds_what_was_put_in() {
        let set = Defects::default().with(Defect::Fire).with(Defect::Top);
        assert_eq!(set.iter().collect::<Vec<_>>(), [Defect::Top, Defect::Fire]);
        assert!(!set.has(Defect::Lean) && set.with(Defect::Top) == set);
    }
}
