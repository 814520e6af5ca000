//! What whoever inspects a pole should look for there, from what is recorded of it, and what a crew checks on a round.
//!
//! The checklist is common practice of the trade and of no one source: the owner's procedure decides.

use super::Case;
use super::quantities::size_in_words;
use super::reasons::method_in_words;
use crate::pole::{Preservative, SeenMode, Verdict, Vocabulary};
use crate::trial::Size;
use crate::units::LengthUnit;

/// What stands behind [`CHECKLIST`].
pub const CHECKLIST_MARK: &str = "common practice; the owner's procedure decides";

/// What a crew checks once a round, before and between poles (mark: common practice).
pub const CHECKLIST: [&str; 9] = [
    "Right pole: its tag says what this sheet says. No tag or another: write it under remarks.",
    "At the base: risers, earth wires, guys and anchors; buried services are located before anybody digs.",
    "Traffic: parked off the road, signs and cones by local law, nobody between truck and traffic.",
    "Lone work: somebody knows where you are and when you call in; no digging, boring or climbing alone where the procedure asks for two.",
    "Nests and bees: birds, bats, bees and wasps are left alone; write it down and come back.",
    "Consent: the occupier agrees to entering and digging; gates, stock and dogs.",
    "Holes: as few as the answer needs, usually one and at most three a visit at the groundline, spread around the pole and never above one another; count earlier plugs first; plug and treat each.",
    "A reject or danger tag is fixed before you leave the pole; danger is told by telephone at once, and somebody stays where people can come near.",
    "Ground is backfilled and firmed, and the place left as it was found.",
];

/// The latest finding that says something about the wood, in one line.
pub fn last_finding(case: &Case<'_>) -> String {
    case.last().map_or_else(
        || "none on record".to_owned(),
        |last| {
            format!(
                "{} by {} on {}",
                last.verdict.word().replace('_', " "),
                method_in_words(last.method),
                last.date
            )
        },
    )
}

/// What a pole is, in one line: size, species, preservative, year.
pub fn facts_in_words(case: &Case<'_>, unit: LengthUnit) -> String {
    let facts = case.facts();
    let size = Size {
        length: facts.length,
        class: facts.class,
    };
    let word = |word: &str| word.replace('_', " ");
    let size = size_in_words(size, &case.inventory.names, unit);
    let parts = [
        if size == "unknown" {
            "size unknown".to_owned()
        } else {
            size
        },
        facts.species.map_or_else(
            || "species unknown".to_owned(),
            |species| word(species.word()),
        ),
        facts.preservative.map_or_else(
            || "preservative unknown".to_owned(),
            |preservative| word(preservative.word()),
        ),
        facts.installed.map_or_else(
            || "set date unknown".to_owned(),
            |day| format!("set {}", day.year()),
        ),
    ];
    parts.join(", ")
}

/// What to look for at one pole, in one line.
pub fn look_for(case: &Case<'_>) -> String {
    let mut parts = Vec::new();
    match case.last() {
        None => parts.push("first inspection on record".to_owned()),
        Some(last) if last.verdict == Verdict::Sound => {
            parts.push(format!(
                "no decay found by {} on {}",
                method_in_words(last.method),
                last.date
            ));
        }
        Some(last) => {
            let place = match last.seen_mode {
                Some(SeenMode::External) => " from the outside",
                Some(SeenMode::Internal) => " inside",
                Some(SeenMode::Both) => " outside and inside",
                None => "",
            };
            parts.push(format!(
                "decay found{place} on {}: has it grown?",
                last.date
            ));
        }
    }
    if !case.was_bored() && case.last().is_some() {
        parts.push("never bored or dug: nothing is proven at the groundline".to_owned());
    }
    if case.facts().preservative == Some(Preservative::ButtTreated) {
        parts.push("butt-treated: look above the treated part too".to_owned());
    }
    if case.facts().reinforced.is_some() {
        parts.push("reinforced: look at the brace and its bands".to_owned());
    }
    if case.facts().installed.is_none() {
        parts.push("set date unknown: read the brand".to_owned());
    }
    parts.join("; ")
}

#[cfg(test)]
mod tests {
    use super::{facts_in_words, last_finding, look_for};
    use crate::units::LengthUnit;
    use crate::words::sample;

    #[test]
    fn a_pole_and_its_last_finding_are_said_in_a_line() {
        let sample = sample::fleet();
        let known = sample.case_of("A-2");
        assert_eq!(
            facts_in_words(&known, LengthUnit::Foot),
            "40 ft class 4, pine, creosote, set 1970"
        );
        assert_eq!(
            last_finding(&known),
            "reject replace by sound and bore on 2024-05-17"
        );
        let unknown = sample.case_of("B-1");
        assert_eq!(
            facts_in_words(&unknown, LengthUnit::Foot),
            "size unknown, species unknown, creosote, set date unknown"
        );
        assert_eq!(last_finding(&unknown), "none on record");
    }

    #[test]
    fn what_to_look_for_follows_from_the_record() {
        let sample = sample::fleet();
        for pole in sample.inventory.indices() {
            let case = sample.case(pole);
            let text = look_for(&case);
            assert_eq!(
                case.last().is_none(),
                text.contains("first inspection on record"),
                "{text}"
            );
        }
    }
}
