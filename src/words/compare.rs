//! The terminal's page of a comparison of policies: totals, differences with their bands, and what is dominated.
//!
//! Eighty columns. Every number comes from [`crate::compare`]; sums of money stand only with their currency.

use super::Caution;
use super::quantities::{count, counted, money, signed, to_figures};
use crate::compare::{Compared, Comparison, Measure};
use crate::programme::Programme;
use crate::trial::Band;
use std::fmt::Write;

/// Width of the page.
const WIDTH: usize = 80;
/// Width of the names in the table.
const NAME: usize = 37;

/// What the money is.
const MONEY: &str = "(money: both accounts at the programme's prices, discounted, less what is left of new poles at the end)";

/// What stands in for sums.
const NO_MONEY: &str = "(\"cheaper\" is by the programme's prices or those that stand in for them; sums are printed once costs.currency and costs.price_year are set)";

/// What holds for all policies alike.
const ALIKE: &str = "Recorded dangers and rejects, and what you fixed pole by pole, are acted upon in every policy. How many poles each leaves below the limit at the end stands in below_limit_at_end.";

/// The page; `files` were written into `folder`.
pub fn page(programme: &Programme, all: &Comparison, folder: &str, files: &[String]) -> String {
    let mut text = String::new();
    let policies = counted(all.policies.len(), "policy", "policies");
    let trials = count(all.trials as usize);
    let line = format!(
        "{}: {policies} on the same draws, {trials} trials of {} years",
        programme.title, programme.horizon_years
    );
    wrapped(&line, "", &mut text);
    text.push('\n');
    table(programme, all, &mut text);
    text.push('\n');
    wrapped(
        "Less than or beyond the programme as it is: mean (1 in 10 trials has less, 1 in 10 has more), over the horizon",
        "",
        &mut text,
    );
    for own in all.policies.iter().skip(1) {
        differences(programme, own, &mut text);
    }
    text.push('\n');
    for sentence in sentences(programme, all) {
        wrapped(&sentence, "", &mut text);
    }
    wrapped(ALIKE, "", &mut text);
    wrapped(
        &format!("Written to {folder}: {}", files.join(", ")),
        "",
        &mut text,
    );
    wrapped(Caution::Estimate.text(), "", &mut text);
    text
}

/// Means over the horizon, a line a policy.
fn table(programme: &Programme, all: &Comparison, text: &mut String) {
    let currency = programme.costs.currency.as_ref();
    let cost = currency.map_or_else(String::new, |(currency, year)| format!("{currency} {year}"));
    let head = ["visits", "new poles", "failures"];
    let _ = write!(text, "{:NAME$}", "Mean over the horizon");
    for word in head {
        let _ = write!(text, "{word:>10}");
    }
    let head = format!("{cost:>13}");
    let _ = writeln!(text, "{}", head.trim_end());
    for own in &all.policies {
        let name = shortened(&own.course.alternative.name, NAME - 1);
        let _ = write!(text, "{name:NAME$}");
        for measure in [Measure::Visits, Measure::NewPoles, Measure::Failures] {
            let mean = mean(own, measure);
            let _ = write!(text, "{:>10}", count(mean.max(0.0).round() as usize));
        }
        let cost = currency.map_or_else(String::new, |_| {
            count(money(mean(own, Measure::NetCost)).max(0.0) as usize)
        });
        let line = format!("{cost:>13}");
        text.push_str(line.trim_end());
        text.push('\n');
    }
    let money = if currency.is_some() { MONEY } else { NO_MONEY };
    wrapped(money, "", text);
}

fn mean(own: &Compared, measure: Measure) -> f64 {
    own.difference(measure).map_or(0.0, |own| own.own.mean)
}

/// A policy's differences.
fn differences(programme: &Programme, own: &Compared, text: &mut String) {
    wrapped(&format!("{}:", own.course.alternative.name), "  ", text);
    let told = [
        (Measure::Failures, "failures", "fewer"),
        (Measure::NewPoles, "new poles", "fewer"),
        (Measure::NetCost, "cost", "cheaper"),
    ];
    for (measure, name, better) in told {
        let is_money = measure == Measure::NetCost;
        let Some(difference) = own.difference(measure) else {
            continue;
        };
        if is_money && programme.costs.currency.is_none() {
            let line = format!("{better} in {} of the trials", percent(difference.lower));
            wrapped(&line, "    ", text);
            continue;
        }
        let line = format!(
            "{name} {}, {better} in {} of the trials",
            band(&difference.than_programme, is_money),
            percent(difference.lower)
        );
        wrapped(&line, "    ", text);
    }
}

/// A difference: "-12 (-20 to -5)".
fn band(own: &Band, is_money: bool) -> String {
    let said = |value| signed(if is_money { money(value) } else { value });
    let [mean, low, high] = [own.mean, own.p10, own.p90].map(said);
    format!("{mean} ({low} to {high})")
}

fn percent(share: f64) -> String {
    format!("{} %", to_figures(share * 100.0, 2))
}

/// What is dominated, which laws are not kept, and what a turn by worth gains.
pub fn sentences(programme: &Programme, all: &Comparison) -> Vec<String> {
    let mut told = Vec::new();
    let name = |own: &Compared| own.course.alternative.name.clone();
    for own in &all.policies {
        if let Some(dominated) = own.dominated {
            told.push(format!(
                "Dominated: \"{}\" costs more and fails more than \"{}\" in expectation, and in {} of the trials both at once.",
                name(own),
                name(&all.policies[dominated.by]),
                percent(dominated.share)
            ));
        }
    }
    if all.policies.iter().all(|own| own.dominated.is_none()) {
        told.push("No policy is dominated: none costs more and fails more than another beyond the trials' error.".to_owned());
    }
    for own in &all.policies {
        if !own.course.laws_not_kept.is_empty() {
            told.push(format!(
                "\"{}\" does not keep {}: it is compared, it cannot be chosen.",
                name(own),
                own.course.laws_not_kept.join(", ")
            ));
        }
    }
    told.extend((all.policies.iter().skip(1)).filter_map(|own| turns(programme, own)));
    told
}

/// What other turns or crews do to the schedule, where rules and answers to findings are the programme's own.
fn turns(programme: &Programme, own: &Compared) -> Option<String> {
    let gained = own.value_gained?;
    let early = own.difference(Measure::RejectsFoundEarly)?;
    let total = programme.costs.currency.as_ref();
    let total = total.map_or_else(String::new, |(currency, _)| {
        let dearer = signed(money(0.0 - gained));
        format!(" total J {dearer} {currency} against the plan's,")
    });
    Some(format!(
        "Schedule of \"{}\": {} moved,{total} rejects found in five years {}.",
        own.course.alternative.name,
        counted(own.visits_moved, "visit", "visits"),
        band(&early.than_programme, false)
    ))
}

/// A name no wider than the table has room for.
fn shortened(name: &str, width: usize) -> String {
    if name.chars().count() <= width {
        return name.to_owned();
    }
    let kept: String = name.chars().take(width.saturating_sub(3)).collect();
    format!("{}...", kept.trim_end())
}

/// A sentence in lines no wider than the page, where its words allow; lines after the first are indented further.
pub(super) fn wrapped(sentence: &str, indent: &str, text: &mut String) {
    let mut line = indent.to_owned();
    let mut is_empty = true;
    for word in sentence.split_whitespace() {
        if !is_empty && line.chars().count() + 1 + word.chars().count() > WIDTH {
            text.push_str(&line);
            text.push('\n');
            line = format!("{indent}  ");
            is_empty = true;
        }
        if !is_empty {
            line.push(' ');
        }
        line.push_str(word);
        is_empty = false;
    }
    text.push_str(&line);
    text.push('\n');
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::common::{inventory_of, pole_set, programme};
    use crate::compare::{Setting, compared};
    use crate::models::text::built_in;
    use crate::programme::{Alternative, RuleKind};

    #[test]
    fn the_page_fits_eighty_columns_and_says_whose_law_is_broken() {
        let mut programme = programme();
        programme.trials = 50;
        programme.inspections[0].kind = RuleKind::Law;
        programme.costs.currency = Some(("EUR".to_owned(), 2026));
        let pole = |id| (id, "L", pole_set(1955), Vec::new());
        let inventory = inventory_of(vec![pole("A"), pole("B")]);
        let models = built_in().expect("valid models");
        let setting = Setting::new(&inventory, &models, &programme).expect("poles");
        let none = Alternative {
            inspect: false,
            ..Alternative::unchanged("a name that is far too long for any table of eighty columns")
        };
        let policies = [Alternative::unchanged("own"), none];
        let courses = policies.map(|own| setting.course(&own).expect("a sound schedule"));
        let all = compared(courses.into(), programme.trials);
        let files = ["compare.csv".to_owned()];
        let text = page(&programme, &all, "out", &files);
        assert!(
            text.lines().all(|line| line.chars().count() <= WIDTH),
            "{text}"
        );
        let line = text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(line.contains("does not keep guideline"), "{text}");
        assert!(
            text.contains("cheaper in") && text.contains("EUR 2026"),
            "{text}"
        );
        assert!(line.contains("never clears"), "{text}");
        programme.costs.currency = None;
        let text = page(&programme, &all, "out", &files);
        assert!(!text.contains("EUR") && !text.contains("cost "), "{text}");
    }

    #[test]
    fn a_long_name_ends_in_dots() {
        assert_eq!(shortened("abcdefgh", 6), "abc...");
        assert_eq!(shortened("abcdef", 6), "abcdef");
    }
}
