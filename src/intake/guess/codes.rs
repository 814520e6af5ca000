//! Owners' codes that people of the trade would read without a key: a word of ours for each, or none.
//!
//! Common practice; every guess is shown with its count, for the owner to strike out. What can be two things stays
//! unmapped: `H4` is a class of poles and a hazard class, `C` is anything.

use super::names::words;
use crate::pole::{
    Agent, AgentPlace, Consequence, Material, Method, Preservative, SeenMode, Species, Status,
    Verdict, Vocabulary,
};
use crate::programme::sources::Field;

/// Codes that are one word of ours: the field, our word, what is written for it. A code of several words counts where
/// all of them stand in the cell.
const READINGS: &[(Field, &str, &str)] = &[
    (
        Field::Species,
        "pine",
        "pine, syp, sp, sy pine, pi, kiefer, pin",
    ),
    (
        Field::Species,
        "douglas_fir",
        "douglas fir, df, doug fir, larch, wl",
    ),
    (
        Field::Species,
        "western_redcedar",
        "western redcedar, red cedar, redcedar, cedar, wrc, wc, rc",
    ),
    (Field::Species, "spruce", "spruce, fichte"),
    (Field::Species, "eucalypt", "eucalypt, eucalyptus, gum"),
    (Field::Preservative, "creosote", "creosote, creo, cr"),
    (
        Field::Preservative,
        "pentachlorophenol",
        "pentachlorophenol, penta, pcp, pn",
    ),
    (Field::Preservative, "cca", "cca, chromated copper arsenate"),
    (Field::Preservative, "acza", "acza, aca"),
    (
        Field::Preservative,
        "copper_naphthenate",
        "copper naphthenate, cun, cunap, cu nap",
    ),
    (Field::Preservative, "dcoit", "dcoit"),
    (Field::Preservative, "butt_treated", "butt treated, butt"),
    (
        Field::Preservative,
        "untreated",
        "untreated, none, nil, no treatment",
    ),
    (Field::Material, "wood", "wood, wooden, timber, wd, w"),
    (
        Field::Material,
        "other",
        "steel, concrete, metal, iron, aluminium, aluminum, composite, fibreglass, \
         fiberglass, lattice, plastic, stl, conc, alum, fbg, frp, grp, galv, galvanised, galvanized, precast",
    ),
    (
        Field::Status,
        "in_service",
        "in service, active, existing, live, in use, energised, installed",
    ),
    (
        Field::Status,
        "abandoned",
        "abandoned, idle, disused, out of service",
    ),
    (Field::Status, "stub", "stub"),
    (
        Field::Status,
        "removed",
        "removed, retired, gone, replaced, dismantled",
    ),
    (Field::Consequence, "ordinary", "ordinary, low, normal, o"),
    (
        Field::Consequence,
        "high",
        "high, h, critical, road, rail, school, water",
    ),
    (Field::Method, "patrol", "patrol, visual, vis, walk by"),
    (Field::Method, "sound", "sound, hammer, sounding, ham"),
    (
        Field::Method,
        "sound_and_bore",
        "sound and bore, sound bore, bore, s b, boring, drill, intrusive",
    ),
    (
        Field::Method,
        "partial_excavation",
        "partial excavation, partial, partial excavate, dig1",
    ),
    (
        Field::Method,
        "full_excavation",
        "full excavation, full, full excavate, excavate, dig4",
    ),
    (
        Field::Method,
        "instrument",
        "instrument, resistograph, sonic, ultrasonic",
    ),
    (
        Field::Verdict,
        "sound",
        "sound, ok, good, pass, passed, serviceable, no decay, satisfactory",
    ),
    (
        Field::Verdict,
        "decay_serviceable",
        "decay serviceable, decay, minor decay, early decay, decayed, fair, suspect",
    ),
    (
        Field::Verdict,
        "reject_reinforceable",
        "reject reinforceable, reject restorable, brace, reinforce, restorable, truss",
    ),
    (
        Field::Verdict,
        "reject_replace",
        "reject replace, reject, rejected, rej, replace, fail, failed, condemned, unserviceable, \
         bad",
    ),
    (
        Field::Verdict,
        "danger",
        "danger, dangerous, priority reject, urgent, hazard, unsafe",
    ),
    (
        Field::Verdict,
        "not_inspected",
        "not inspected, no access, missed, not found, skipped, inaccessible",
    ),
    (
        Field::DecayMode,
        "external",
        "external, outside, surface, shell rot",
    ),
    (
        Field::DecayMode,
        "internal",
        "internal, inside, heart, heart rot, hollow",
    ),
    (Field::DecayMode, "both", "both"),
    (
        Field::Agent,
        "metam_sodium",
        "metam sodium, metham sodium, metam, metham",
    ),
    (Field::Agent, "mitc", "mitc, methyl isothiocyanate"),
    (Field::Agent, "dazomet", "dazomet"),
    (Field::Agent, "chloropicrin", "chloropicrin, picrin"),
    (
        Field::Agent,
        "boron_rod",
        "boron rod, boron rods, borate rod, borate rods",
    ),
    (Field::Agent, "fluoride_rod", "fluoride rod, fluoride rods"),
    (Field::Agent, "paste", "paste"),
    (Field::Agent, "bandage", "bandage"),
];

/// Words that turn the meaning round.
const NEGATIONS: [&str; 3] = ["no", "not", "without"];

/// Our word for a cell of `field`, if people of the trade would read it so.
///
/// The longest phrase in the cell counts; where two words of ours are as good, none does.
pub(super) fn reading(field: Field, raw: &str) -> Option<&'static str> {
    let own = words(raw);
    let best = READINGS
        .iter()
        .filter(|(of, _, _)| *of == field)
        .filter_map(|(_, word, phrases)| {
            let longest = phrases.split(", ").filter(|phrase| holds(&own, phrase));
            Some((
                longest.map(|phrase| phrase.split(' ').count()).max()?,
                *word,
            ))
        })
        .max_by_key(|(length, _)| *length)?;
    let rivals = READINGS
        .iter()
        .filter(|(of, word, _)| *of == field && *word != best.1)
        .flat_map(|(_, _, phrases)| phrases.split(", "))
        .filter(|phrase| holds(&own, phrase))
        .any(|phrase| phrase.split(' ').count() == best.0);
    (!rivals).then_some(best.1)
}

/// Whether the cell's words hold the phrase. One or two letters are a code only by themselves, and a negation in the
/// cell must stand in the phrase too: "not sound" is not sound.
fn holds(own: &[String], phrase: &str) -> bool {
    let wanted: Vec<&str> = phrase.split(' ').collect();
    let is_short = wanted.len() == 1 && phrase.len() <= 2;
    let negates = |word: &str| NEGATIONS.contains(&word);
    wanted.iter().all(|word| own.iter().any(|has| has == word))
        && (!is_short || own.len() == 1)
        && own.iter().any(|word| negates(word)) == wanted.iter().any(|word| negates(word))
}

/// The word of ours that a cell already is.
pub(super) fn own_word(words: &[&'static str], raw: &str) -> Option<&'static str> {
    let small = raw.trim().to_lowercase().replace([' ', '-'], "_");
    words.iter().copied().find(|word| *word == small)
}

/// Our words for a field that is a code; none for any other field.
pub(super) fn words_of(field: Field) -> Vec<&'static str> {
    fn all<V: Vocabulary>() -> Vec<&'static str> {
        V::WORDS.iter().map(|(_, word, _)| *word).collect()
    }
    match field {
        Field::Species => all::<Species>(),
        Field::Preservative => all::<Preservative>(),
        Field::Material => all::<Material>(),
        Field::Status => all::<Status>(),
        Field::Consequence => all::<Consequence>(),
        Field::Method => all::<Method>(),
        Field::Verdict => all::<Verdict>(),
        Field::DecayMode => all::<SeenMode>(),
        Field::Agent => all::<Agent>(),
        Field::AgentPlace => all::<AgentPlace>(),
        _ => Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::{READINGS, reading, words_of};
    use crate::programme::sources::Field;

    #[test]
    fn codes_of_the_trade_are_read_and_doubtful_ones_are_not() {
        for (field, raw, word) in [
            (Field::Species, "SOUTHERN YELLOW PINE", Some("pine")),
            (Field::Species, "D.FIR", None),
            (Field::Species, "Douglas Fir", Some("douglas_fir")),
            (Field::Preservative, "H4", None),
            (Field::Preservative, "CCA", Some("cca")),
            (Field::Verdict, "not sound", None),
            (Field::Verdict, "No decay", Some("sound")),
            (
                Field::Verdict,
                "REJECT - REINFORCEABLE",
                Some("reject_reinforceable"),
            ),
            (Field::Verdict, "priority reject", Some("danger")),
            (Field::Verdict, "REJ", Some("reject_replace")),
            (Field::Verdict, "C", None),
            (Field::Method, "Visual", Some("patrol")),
            (Field::Method, "Sound & Bore", Some("sound_and_bore")),
            (Field::Material, "W", Some("wood")),
            (Field::Material, "W steel", Some("other")),
            (Field::Material, "STL", Some("other")),
            (Field::Material, "Conc.", Some("other")),
        ] {
            assert_eq!(reading(field, raw), word, "{raw}");
        }
    }

    #[test]
    fn every_reading_leads_to_a_word_of_ours() {
        for (field, word, _) in READINGS {
            assert!(words_of(*field).contains(word), "{word}");
        }
    }
}
