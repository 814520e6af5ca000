//! Which assumptions move the plan most, in a short table of eighty columns.

use super::compare::wrapped;
use super::quantities::{count, money, signed, to_figures};
use crate::programme::Programme;
use crate::sensitivity::{End, Sensitivity};
use std::fmt::Write;

/// How to get the table, where it was not asked for.
pub const HOW_TO_GET_IT: &str = "Which assumptions move this plan most: run it with --sensitivity (takes some twenty times as long).\n";

/// Width of the names.
const NAME: usize = 34;

/// The table.
pub fn page(programme: &Programme, all: &Sensitivity) -> String {
    let currency = programme.costs.currency.as_ref();
    let mut text = String::from(
        "What moves the plan most, each assumption alone at the ends of its range\n(sensitivity.csv: ranges, their sources and marks):\n",
    );
    let _ = write!(
        text,
        "{:NAME$}{:>9}{:>12}{:>11}",
        "", "value", "next year's", "new poles"
    );
    let cost = currency.map_or("", |(currency, _)| currency.as_str());
    let _ = writeln!(text, "{cost:>13}");
    let _ = writeln!(
        text,
        "{:NAME$}{:>9}{:>12}{:>11}",
        "", "", "visits", "in all"
    );
    for moved in &all.moved {
        for (end, name) in moved.ends.iter().zip([moved.assumption.key, ""]) {
            let _ = write!(
                text,
                "{name:NAME$}{:>9}",
                to_figures(end.value, 3).to_string()
            );
            row(end, all, currency.is_some(), &mut text);
        }
    }
    let seed = &all.other_seed;
    let _ = writeln!(
        text,
        "Visits: poles visited only then / only in the plan, of {} in the first year.\nWith another seed {} of them change; with failures twice as dear {}.",
        count(all.base.visits.len()),
        count(seed.added + seed.dropped),
        twice_as_dear(all)
    );
    if !all.less_telling.is_empty() {
        let less: Vec<&str> = all.less_telling.iter().map(|own| own.key).collect();
        let line = format!("Tried and less telling: {}.", less.join(", "));
        wrapped(&line, "", &mut text);
    }
    text
}

fn row(end: &End, all: &Sensitivity, has_money: bool, text: &mut String) {
    let moved = format!("+{}/-{}", count(end.added), count(end.dropped));
    let poles = end.numbers.replacements.mean - all.base.replacements.mean;
    let _ = write!(text, "{moved:>12}{:>11}", signed(poles));
    let cost = if has_money {
        signed(money(end.numbers.cost.mean - all.base.cost.mean))
    } else {
        String::new()
    };
    let line = format!("{cost:>13}");
    text.push_str(line.trim_end());
    text.push('\n');
}

/// How many of next year's poles change when a failure costs twice as much.
fn twice_as_dear(all: &Sensitivity) -> String {
    let failure = all
        .moved
        .iter()
        .find(|own| own.assumption.is_price_of_failure());
    failure.map_or_else(
        || "no answer".to_owned(),
        |own| count(own.ends[1].added + own.ends[1].dropped),
    )
}

#[cfg(test)]
mod tests {
    use super::page;
    use crate::common::{inventory_of, pole_set, programme};
    use crate::models::text::built_in;

    #[test]
    fn the_table_fits_eighty_columns_and_answers_for_the_seed() {
        let mut programme = programme();
        programme.trials = 20;
        programme.costs.currency = Some(("EUR".to_owned(), 2026));
        let pole = |id| (id, "L", pole_set(1960), Vec::new());
        let inventory = inventory_of(vec![pole("A"), pole("B")]);
        let models = built_in().expect("valid models");
        let all = crate::sensitivity::sensitivity(&inventory, &models, &programme).expect("poles");
        let text = page(&programme, &all);
        for line in text.lines() {
            assert!(line.chars().count() <= 80, "{line}");
        }
        assert!(text.contains("With another seed 0 of them"), "{text}");
        assert!(text.contains("costs.failure"), "{text}");
    }
}
