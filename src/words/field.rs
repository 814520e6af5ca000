//! What whoever inspects a pole should look for there, from what is recorded of it.

use super::Case;
use super::reasons::method_in_words;
use crate::pole::{Preservative, SeenMode, Verdict};

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
    use super::look_for;
    use crate::words::sample;

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
