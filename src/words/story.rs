//! What a pole's story says beside its reason: what an inspection found, and how long until the limit.
//!
//! Facts and numbers into words; which pole is told of, and where, is the output's business.

use super::Case;
use super::quantities::{length, to_decimals};
use super::reasons::method_in_words;
use super::screen::on_one_line;
use crate::pole::{Inspection, Vocabulary};
use crate::programme::sources::Field;
use crate::units::{LengthUnit, Mm};

/// What one inspection found: "sound and bore: decay found, the pole stays; sound shell 60 mm; treated".
pub fn inspection_in_words(case: &Case<'_>, inspection: &Inspection) -> String {
    let meaning = crate::pole::Verdict::WORDS
        .iter()
        .find(|(verdict, _, _)| *verdict == inspection.verdict)
        .map_or("", |(_, _, meaning)| meaning);
    let mut parts = vec![format!("{}: {meaning}", method_in_words(inspection.method))];
    let measured = [
        (
            "remaining circumference",
            inspection.remaining_circumference,
            Field::RemainingCircumference,
        ),
        (
            "original circumference",
            inspection.original_circumference,
            Field::OriginalCircumference,
        ),
        (
            "outside decay",
            inspection.outside_decay_depth,
            Field::OutsideDecayDepth,
        ),
        ("sound shell", inspection.sound_shell, Field::SoundShell),
    ];
    for (name, value, field) in measured {
        if let Some(value) = value {
            let unit = owners_unit(case, field);
            let value = to_decimals(length(value, unit), 1);
            parts.push(format!("{name} {value} {}", unit.word()));
        }
    }
    for pocket in inspection.pockets.iter() {
        let size = |value, field| {
            let unit = owners_unit(case, field);
            format!("{} {}", to_decimals(length(value, unit), 1), unit.word())
        };
        let side = pocket.degrees.map_or_else(String::new, |degrees| {
            format!(", {degrees:.0} degrees from north")
        });
        let height = pocket.height.map_or_else(String::new, |height| {
            let far = size(Mm(height.0.abs()), Field::PocketHeight);
            let way = if height.0 < 0.0 { "below" } else { "above" };
            format!(", {far} {way} the groundline")
        });
        parts.push(format!(
            "pocket {} wide, {} deep{side}{height}",
            size(pocket.width, Field::PocketWidth),
            size(pocket.depth, Field::PocketDepth)
        ));
    }
    if let Some(mode) = inspection.seen_mode {
        parts.push(format!("decay seen: {}", mode.word()));
    }
    if inspection.treated {
        parts.push("treated at this visit".to_owned());
    }
    if let Some(name) = inspection.contractor {
        parts.push(format!("by {}", case.inventory.names.get(name)));
    }
    if let Some(name) = inspection.inspector {
        let name = on_one_line(case.inventory.names.get(name));
        parts.push(format!("inspector {name}"));
    }
    if let Some(also) = inspection.also {
        parts.push(on_one_line(case.inventory.names.get(also)));
    }
    if let Some(remarks) = inspection.remarks {
        let remarks = on_one_line(case.inventory.names.get(remarks));
        parts.push(format!("remarks: {remarks}"));
    }
    parts.join("; ")
}

/// The unit in which the owner writes a length of inspections.
fn owners_unit(case: &Case<'_>, field: Field) -> LengthUnit {
    let default = field.info().unit.unwrap_or(LengthUnit::Millimetre);
    case.programme
        .sources
        .inspections
        .iter()
        .find(|source| source.columns.contains_key(&field))
        .and_then(|source| source.units.get(&field).copied())
        .unwrap_or(default)
}

/// When poles like it are below the limit: "1 in 10 poles like it are below the limit now, half within 8 years, 9 in 10
/// within 31 years".
pub fn years_to_limit_in_words(case: &Case<'_>) -> String {
    let [soon, middle, late] = case.condition().years_to_limit.map(within);
    format!("1 in 10 poles like it are below the limit {soon}, half {middle}, 9 in 10 {late}.")
}

fn within(years: f32) -> String {
    if !years.is_finite() {
        return "not within 200 years".to_owned();
    }
    if years <= 0.0 {
        return "now".to_owned();
    }
    if years < 1.0 {
        return "within a year".to_owned();
    }
    let years = years.round() as u32;
    format!("within {years} year{}", if years == 1 { "" } else { "s" })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Mm;
    use crate::words::sample;

    #[test]
    fn an_inspection_says_method_verdict_and_measures() {
        let sample = sample::fleet();
        let case = sample.case_of("A-2");
        let mut seen = *case.last().expect("an inspection");
        seen.sound_shell = Some(Mm(61.26));
        seen.treated = true;
        assert_eq!(
            inspection_in_words(&case, &seen),
            "sound and bore: below the limit, to be replaced; sound shell 61.3 mm; treated at this visit"
        );
    }

    #[test]
    fn years_to_the_limit_are_said_as_shares_of_poles() {
        let sample = sample::fleet();
        assert_eq!(
            years_to_limit_in_words(&sample.case_of("A-3")),
            "1 in 10 poles like it are below the limit now, half within 8 years, 9 in 10 not within 200 years."
        );
    }
}
