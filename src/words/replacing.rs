//! What whoever replaces a pole is told: what to bring, how deep it is set, how wood is kept and cut, what becomes of the
//! old pole.
//!
//! Sentences from the record and the owner's policy; computes nothing but the setting depth. The rules are common practice
//! of the trade and of no one source: the owner's standard decides.

use super::Case;
use super::quantities::{size_in_words, to_decimals};
use crate::pole::Vocabulary;
use crate::trial::Size;
use crate::units::{LengthUnit, Mm};

/// What stands behind every rule here.
pub const REPLACING_MARK: &str = "common practice; the owner's standard and procedure decide";

/// Share of the length that goes into the ground (mark: common practice).
const SET_SHARE: f64 = 0.1;

/// What is added to it, 0.6 m or 2 ft (mark: common practice).
const SET_MORE: Mm = Mm(600.0);

/// Handling of the new pole before it is set (mark: common practice).
pub const HANDLING: [&str; 4] = [
    "Lift and turn poles by slings at the balance point; hooks, tongs and pike points stay out of the ground zone, from 0.3 m above to 0.6 m below the groundline.",
    "Do not drag a pole on its treated face; do not drop it from the truck.",
    "On site lay it on bearers clear of the ground, away from ditches, wells and stock, and no longer than the work takes.",
    "Read the brand before it is set: size, class, species, preservative, year. Send back what is not what is written here, or is split, crooked or bleeding.",
];

/// Cuts and holes made after treatment (mark: common practice).
pub const FIELD_CUTS: [&str; 3] = [
    "Order poles framed and bored where possible: each cut made in the field opens untreated wood.",
    "Never cut the butt; shorten at the top only, and cap or treat it.",
    "Flood every field cut, bored hole, gain and deep scrape with a preservative for topical use, by its label and by licensed people, before hardware goes on; plug unused holes with treated plugs.",
];

/// The old pole (mark: common practice).
pub const OLD_POLE: [&str; 4] = [
    "It is not sound because it stands: support it or work from a lift; remove no guy or conductor before it is held.",
    "Before it goes, measure the section at its groundline (shell, hollow, outside decay) and write it down: it is the best check of the inspection that condemned it.",
    "Keep a stub only until the last attacher has moved; then draw it, fill and firm the hole the same day.",
    "Write removal date and cause in the work record. Treated wood is re-used or disposed of by local law: no open burning, no mulch.",
];

/// Others at the pole (mark: common practice).
pub const ATTACHERS: [&str; 3] = [
    "Tell every other owner and attacher in time: communications, street lighting, earth wires, risers, other circuits, signs, cameras. The lists used here do not say who is attached.",
    "Nobody removes what belongs to another; transfers are done before the old pole is drawn.",
    "Have buried services located before the hole is dug; the new hole is rarely the old one.",
];

/// What to put in where a pole comes out: size, species, preservative, as the policy and the old pole say.
pub fn replacement_spec(case: &Case<'_>, unit: LengthUnit) -> String {
    let facts = case.facts();
    let policy = &case.programme.policy;
    let size = Size {
        length: facts.length,
        class: facts.class,
    };
    let mut parts = vec![if size == Size::default() {
        "size unknown".to_owned()
    } else {
        size_in_words(size, &case.inventory.names, unit)
    }];
    parts.extend(
        policy
            .new_species
            .or(facts.species)
            .map(|species| species.word().to_owned()),
    );
    parts.extend(
        policy
            .new_preservative
            .or(facts.preservative)
            .map(|preservative| preservative.word().to_owned()),
    );
    parts.join(", ")
}

/// How deep a pole of this length is set in firm ground: a tenth of its length and 0.6 m.
pub fn setting_depth(length: Mm) -> Mm {
    Mm(SET_SHARE * length.0 + SET_MORE.0)
}

/// The setting depth in the owner's unit: "2.0 m", "6.0 ft"; without a length, what to do first.
pub fn setting_depth_in_words(length: Option<Mm>, unit: LengthUnit) -> String {
    length.map_or_else(
        || "length unknown: measure the old pole before you order".to_owned(),
        |length| {
            let unit = match unit {
                LengthUnit::Foot | LengthUnit::Inch => LengthUnit::Foot,
                _ => LengthUnit::Metre,
            };
            let depth = to_decimals(unit.write(setting_depth(length)), 1);
            format!("{depth:.1} {}", unit.word())
        },
    )
}

/// What the setting depth rests on.
pub const SETTING_DEPTH: &str = "Setting depth is 10 % of the length plus 0.6 m (2 ft), in firm ground: more in soft or wet ground, on slopes and at angles; less in rock by the owner's standard.";

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pole::Preservative;
    use crate::words::sample;

    #[test]
    fn a_pole_is_set_a_tenth_of_its_length_and_sixty_centimetres_deep() {
        // 10 % of 12 m is 1.2 m, and 0.6 m.
        assert!((setting_depth(Mm(12_000.0)).0 - 1_800.0).abs() < 1e-9);
        let of = |length, unit| setting_depth_in_words(Some(length), unit);
        assert_eq!(of(Mm(12_000.0), LengthUnit::Metre), "1.8 m");
        // 4 ft and 0.6 m, which is 1.97 ft.
        let forty = LengthUnit::Foot.read(40.0);
        assert_eq!(of(forty, LengthUnit::Foot), "6.0 ft");
        assert!(setting_depth_in_words(None, LengthUnit::Metre).contains("measure the old pole"));
    }

    #[test]
    fn what_to_bring_follows_the_policy_and_then_the_old_pole() {
        let mut sample = sample::fleet();
        let of = |sample: &sample::Sample, id: &str| {
            replacement_spec(&sample.case_of(id), LengthUnit::Foot)
        };
        assert_eq!(of(&sample, "A-2"), "40 ft class 4, pine, creosote");
        assert_eq!(of(&sample, "B-1"), "size unknown, creosote");
        sample.programme.policy.new_preservative = Some(Preservative::CopperNaphthenate);
        assert_eq!(
            of(&sample, "A-2"),
            "40 ft class 4, pine, copper_naphthenate"
        );
    }
}
