//! Notes that say that a pole is gone: a few plain rules about English words, made to miss rather than to misread.
//!
//! Owns the rules only. "Abandoned" is not among them: an abandoned pole stands, and in many lists the word says that it
//! was handed to another owner. "Replaces pole 12" is about another pole, and "old pole removed" is too.

/// What people do to a pole that is gone afterwards.
const TAKEN: [&str; 5] = ["removed", "recovered", "pulled", "demolished", "dismantled"];
/// Words that may follow such a word at the start of a note when the pole itself is meant.
const AFTER_TAKEN: [&str; 13] = [
    "from", "for", "on", "in", "by", "per", "after", "during", "due", "work", "wo", "pole", "and",
];
/// Words that say that the pole beside this one is meant, when they stand before "pole".
const ANOTHER: [&str; 12] = [
    "old",
    "former",
    "previous",
    "adjacent",
    "next",
    "neighbouring",
    "neighboring",
    "temporary",
    "temp",
    "push",
    "stub",
    "other",
];
/// What makes a pole gone when it follows the word "pole".
const POLE_IS: [&str; 17] = [
    "removed",
    "was removed",
    "has been removed",
    "is removed",
    "remove wo",
    "remove work order",
    "recovered",
    "was recovered",
    "pulled",
    "was pulled",
    "gone",
    "is gone",
    "does not exist",
    "doesn t exist",
    "not in field",
    "not found",
    "no longer exists",
];
/// What makes a pole missing when nothing but a number or one of [`AFTER_TAKEN`] follows.
const POLE_IS_MISSING: [&str; 2] = ["missing", "is missing"];

/// Months; their first three letters are understood too.
const MONTHS: [&str; 12] = [
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
];

/// Whether a note says that the pole is gone.
pub(super) fn says_gone(note: &str) -> bool {
    let plain: String = note
        .chars()
        .map(|c| if c.is_alphanumeric() { c } else { ' ' })
        .flat_map(char::to_lowercase)
        .collect();
    let words: Vec<&str> = plain.split_whitespace().collect();
    starts_with_taken(&words) || about_the_pole(&words) || no_pole(&words) || replaced_by(&words)
}

/// Whether nothing follows, or something that says when, where or why.
fn ends_or_explains(rest: &[&str]) -> bool {
    rest.first().is_none_or(|word| {
        AFTER_TAKEN.contains(word)
            || MONTHS
                .iter()
                .any(|month| word == month || *word == &month[..3])
            || word.starts_with(|c: char| c.is_ascii_digit())
    })
}

fn starts_with_taken(words: &[&str]) -> bool {
    words
        .split_first()
        .is_some_and(|(first, rest)| TAKEN.contains(first) && ends_or_explains(rest))
}

/// What follows `phrase` in `words`, when they start with it.
fn after<'a, 'b>(words: &'a [&'b str], phrase: &str) -> Option<&'a [&'b str]> {
    let mut rest = words;
    for wanted in phrase.split(' ') {
        let (first, others) = rest.split_first()?;
        if *first != wanted {
            return None;
        }
        rest = others;
    }
    Some(rest)
}

fn about_the_pole(words: &[&str]) -> bool {
    let poles = words
        .iter()
        .enumerate()
        .filter(|(_, word)| **word == "pole");
    poles
        .filter(|(place, _)| *place == 0 || !ANOTHER.contains(&words[place - 1]))
        .any(|(place, _)| {
            let rest = &words[place + 1..];
            POLE_IS.iter().any(|phrase| after(rest, phrase).is_some())
                || POLE_IS_MISSING
                    .iter()
                    .any(|phrase| after(rest, phrase).is_some_and(ends_or_explains))
        })
}

/// "No pole", "no pole here": not "no pole tag".
fn no_pole(words: &[&str]) -> bool {
    words.windows(2).enumerate().any(|(place, pair)| {
        let rest = &words[place + 2..];
        let here = ["here", "there", "found", "at", "in", "on"];
        pair == ["no", "pole"] && rest.first().is_none_or(|word| here.contains(word))
    })
}

fn replaced_by(words: &[&str]) -> bool {
    words.windows(3).any(|three| {
        three[0] == "replaced"
            && (three[1] == "by" || three[1] == "with")
            && ["pole", "new"].contains(&three[2])
    })
}

#[cfg(test)]
mod tests {
    use super::says_gone;

    #[test]
    fn notes_that_say_so_are_understood() {
        for note in [
            "REMOVED 7/21/09",
            "Removed.",
            "REMOVED FROM SERVICE 9/25/2008",
            "REMOVED - WORK ORDER #51791",
            "POLE WAS REMOVED IN 2011 FOR ROAD WIDENING",
            "FEEDER 403 GETAWAY, POLE REMOVED WO#51789",
            "POLE REMOVE WO #51789",
            "POLE WAS RECOVERED 05/2005",
            "RECOVERED JUNE 2004 - POOL PROJECT",
            "POLE WAS PULLED 08/05/2009 WORK ORDER #30951",
            "PULLED WORK ORDER #50416",
            "POLE DOES NOT EXIST",
            "POLE NOT IN FIELD",
            "POLE NOT  FOUND IN FIELD",
            "no pole here",
            "Pole missing 2014",
            "pole is gone",
            "REPLACED BY POLE 589",
        ] {
            assert!(says_gone(note), "{note}");
        }
    }

    #[test]
    fn notes_about_something_else_are_left_alone() {
        for note in [
            "",
            "JOINT USE REMOVED 05/30/2007",
            "Removed guy wire",
            "REPLACES POLE 62297",
            "THIS POLE REPLACED 1591 ON 12/08/2017",
            "POLE AND SWITCH REPLACED 12/30/2003 AFTER AN ACCIDENT",
            "OLD POLE #2103 - REMOVED 7/10/08",
            "old pole removed",
            "pole to be removed",
            "pole missing tag",
            "no pole tag",
            "abandoned to the town",
            "GUY STUB",
        ] {
            assert!(!says_gone(note), "{note}");
        }
    }
}
