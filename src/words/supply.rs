//! What a supplier of poles is told: the plan year by year as a customer follows it, what to have ready, how to keep
//! poles in the yard.
//!
//! Sentences from a plan's own numbers; computes nothing but sums. The rules of the yard are common practice of the
//! trade and of no one source.

use super::Case;
use super::overview::Spread;
use super::quantities::{counted, to_decimals, whole};
use super::screen::{crew_days, spread};
use crate::schedule::Action;
use crate::trial::{Band, Kind};

/// How poles are kept in the yard (mark: common practice).
pub const YARD: [&str; 5] = [
    "One size to a stack.",
    "No stack higher than 3 m.",
    "The lowest pole at least 150 mm clear of the ground.",
    "Cross-stacked poles at most 6 months in one position.",
    "First in, first out.",
];

/// What stands behind [`YARD`].
pub const YARD_MARK: &str = "common practice";

/// What to put back where a pole comes out.
pub fn put_back(case: &Case<'_>) -> String {
    use crate::pole::Vocabulary;
    let policy = &case.programme.policy;
    let named = |word: Option<&str>, what: &str| {
        word.map_or_else(
            || format!("the old pole's {what}"),
            |word| format!("{what} {}", word.replace('_', " ")),
        )
    };
    format!(
        "Each pole is put back in {}, with {} and {}. Where the list does not give the size, measure before ordering.",
        if case.programme.supply.substitutions.is_empty() {
            "the old pole's size"
        } else {
            "the size that [[substitution]] says, else the old pole's"
        },
        named(policy.new_species.map(Vocabulary::word), "species"),
        named(
            policy.new_preservative.map(Vocabulary::word),
            "preservative"
        ),
    )
}

/// One plan year, counted from 0, as a customer follows it: what is inspected, what is already known to go, what to have
/// ready.
pub fn year_in_words(case: &Case<'_>, year: u16) -> Vec<String> {
    let schedule = &case.plan.schedule;
    let place = usize::from(year);
    let planned = |action| schedule.count(action).0.get(place).copied().unwrap_or(0);
    let mut said = vec![inspections(case, year, planned(Action::Inspect))];
    let (safe, replace) = (planned(Action::MakeSafe), planned(Action::Replace));
    if safe > 0 {
        said.push(format!(
            "{} judged dangerous: made safe by the owner's own procedure today, not in this plan's time.",
            counted(safe, "pole is", "poles are")
        ));
    }
    if replace > 0 {
        said.push(format!(
            "{} already judged below the limit: to be replaced this year.",
            counted(replace, "pole is", "poles are")
        ));
    }
    if let Some(seen) = case.plan.forecast.years.get(place) {
        let found = Spread::from(seen.rejects_found);
        if found.mean > 0.0 {
            said.push(format!(
                "Inspections will probably judge so many more below the limit: {}.",
                spread(found)
            ));
        }
        said.push(ready(case, seen.year, seen.replacements));
    }
    said
}

fn inspections(case: &Case<'_>, year: u16, poles: usize) -> String {
    let schedule = &case.plan.schedule;
    if poles == 0 {
        return "No inspection is planned.".to_owned();
    }
    let lines = schedule
        .round(year)
        .iter()
        .filter(|round| round.line.is_some())
        .count();
    let days = schedule
        .crew_days
        .get(usize::from(year))
        .copied()
        .unwrap_or(0.0);
    let lines = match lines {
        0 => String::new(),
        number => format!(" on {}", counted(number, "line", "lines")),
    };
    format!(
        "{}{lines}, {} crew-days.",
        counted(poles, "inspection", "inspections"),
        crew_days(days)
    )
}

fn ready(case: &Case<'_>, year: i16, all: Band) -> String {
    let other = case.plan.forecast.demand.iter().find(|row| {
        row.year == Some(year) && row.group.is_none() && row.kind == Some(Kind::OtherDemand)
    });
    let other = other.map_or_else(String::new, |row| {
        format!(
            ", about {} of them for vehicles, road works and upgrades",
            few(row.count.mean)
        )
    });
    format!("New poles to have ready: {}{other}.", spread(all.into()))
}

/// A mean count: whole from ten on, to a tenth below.
fn few(mean: f64) -> String {
    if mean < 10.0 {
        to_decimals(mean, 1).to_string()
    } else {
        whole(mean)
    }
}

/// A count for a cell: "12 (8 to 16)".
pub fn in_a_cell(band: Band) -> String {
    format!(
        "{} ({} to {})",
        few(band.mean),
        whole(band.p10),
        whole(band.p90)
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::words::sample;

    #[test]
    fn a_customer_reads_a_year_of_the_plan() {
        let sample = sample::fleet();
        let said = year_in_words(&sample.case_of("A-1"), 0);
        assert_eq!(said[0], "1 inspection on 1 line, 1 crew-days.");
        assert!(said[1].starts_with("1 pole is judged dangerous"));
        assert!(said[2].starts_with("1 pole is already judged below"));
        assert_eq!(
            said[4],
            "New poles to have ready: 1.60 +- 0.03 (8 in 10 trials between 1 and 3)."
        );
        let quiet = year_in_words(&sample.case_of("A-1"), 3);
        assert_eq!(quiet[0], "No inspection is planned.");
    }

    #[test]
    fn what_is_put_back_follows_the_policy() {
        let mut sample = sample::fleet();
        assert!(put_back(&sample.case_of("A-1")).contains("the old pole's preservative"));
        sample.programme.policy.new_preservative = Some(crate::pole::Preservative::Creosote);
        assert!(put_back(&sample.case_of("A-1")).contains("preservative creosote"));
    }

    #[test]
    fn a_cell_says_its_band() {
        let band = Band {
            mean: 12.4,
            p10: 8.0,
            p90: 16.0,
            ..Band::default()
        };
        assert_eq!(in_a_cell(band), "12 (8 to 16)");
    }
}
