//! The terminal's page of a hindcast: what earlier years would have said, what was found, and a plain verdict.
//!
//! Text in lines; every number comes from [`crate::score`].

use super::Caution;
use super::quantities::{Estimate, count, counted, to_decimals, to_figures};
use crate::score::bands::{Coverage, GroupedBy};
use crate::score::forecast::Holds;
use crate::score::hindcast::{AsOf, Hindcast};
use crate::score::metrics::{Catch, Measured};
use crate::score::scores::{Against, Rival, Scores, Standing};

/// Rejects below which a hindcast proves little (proposed: a count of 30 is known to about a fifth).
const FEW_REJECTS: usize = 30;

/// The page; `files` were written into `folder`.
pub fn page(title: &str, back: &Hindcast, folder: &str, files: &[String]) -> String {
    let years: Vec<String> = back
        .years
        .iter()
        .map(|year| year.year.to_string())
        .collect();
    let mut lines = vec![
        format!("{title}: looked back from {}", years.join(", ")),
        "Forecast: the next look into each pole's wood finds it below the limit, from what was known on 1 January"
            .to_owned(),
    ];
    lines.extend(said(back));
    lines.push(format!("Verdict: {}", verdict(back)));
    lines.extend(
        cautions(back)
            .into_iter()
            .map(|caution| format!("  {caution}")),
    );
    lines.push(format!("Written to {folder}: {}", files.join(", ")));
    lines.push(Caution::Estimate.text().to_owned());
    lines.join("\n") + "\n"
}

/// What was expected and found, year by year and together.
pub fn said(back: &Hindcast) -> Vec<String> {
    let mut lines: Vec<String> = back.years.iter().map(year).collect();
    if let Some(scores) = &back.scores {
        whole(scores, &mut lines);
    }
    lines
}

fn year(year: &AsOf) -> String {
    let counts = &year.counts;
    let scored = match &year.scores {
        Some(scores) => format!(
            "{} until {}, {} expected below the limit, {} found",
            counted(counts.scored, "inspection", "inspections"),
            year.until,
            to_decimals(scores.expected, 1),
            count(scores.found)
        ),
        None => format!("no inspection until {} that could be forecast", year.until),
    };
    format!(
        "  {}: {scored} ({} known then, {} not looked at, {} condemned before)",
        year.year,
        counted(counts.poles, "pole", "poles"),
        count(counts.not_looked),
        count(counts.condemned_before)
    )
}

fn whole(scores: &Scores, lines: &mut Vec<String>) {
    lines.push(format!(
        "Together: {}, {} expected below the limit, {} found (which alone shows {} to {})",
        counted(scores.cases, "inspection", "inspections"),
        to_decimals(scores.expected, 1),
        count(scores.found),
        to_decimals(scores.found_interval.low, 1),
        to_decimals(scores.found_interval.high, 1)
    ));
    lines.push(format!(
        "  log score (smaller is better): {}",
        estimate(scores.log)
    ));
    lines.extend(scores.against.iter().map(|against| {
        format!(
            "    {}: {}; the forecast is better by {}",
            against.rival.words(),
            estimate(against.log),
            estimate(against.log_gain)
        )
    }));
    lines.push(format!(
        "  Brier score (smaller is better): {}",
        estimate(scores.brier)
    ));
    lines.push(format!(
        "  found in the top 10, 20, 30 % of the ranking: {} (the top 20 %: {} to {} %)",
        caught(&scores.catches),
        percent(scores.catches[1].interval.low),
        percent(scores.catches[1].interval.high)
    ));
    let ages = scores
        .against
        .iter()
        .filter(|against| matches!(against.rival, Rival::AgeKnown | Rival::AgeHindsight));
    lines.extend(ages.map(|against| {
        format!(
            "    {}: {}",
            against.rival.words(),
            caught(&against.catches)
        )
    }));
    let held = scores.bins.iter().filter(|bin| bin.holds()).count();
    lines.push(format!(
        "  chances are what they say in {held} of {} bins (reliability.csv; exact 95 % intervals)",
        scores.bins.len()
    ));
    let bands = scores
        .coverage
        .iter()
        .filter(|own| own.grouped_by != GroupedBy::Everything);
    lines.extend(
        bands
            .filter(|own| own.level > 0.75 && own.level < 0.85)
            .map(band),
    );
}

fn band(own: &Coverage) -> String {
    format!(
        "  80 % bands on numbers by {}: {} of {} held, {} % should (whole numbers), {} poles wide on average",
        own.grouped_by.word(),
        count(own.held),
        count(own.groups),
        percent(own.expected),
        to_figures(own.width, 2)
    )
}

fn estimate(measured: Measured) -> Estimate {
    Estimate {
        value: measured.mean,
        error: measured.standard_error,
    }
}

fn percent(share: f64) -> f64 {
    to_figures(100.0 * share, 2)
}

fn caught(catches: &[Catch]) -> String {
    let shares: Vec<String> = catches
        .iter()
        .map(|catch| format!("{} of {}", to_decimals(catch.caught, 1), count(catch.of)))
        .collect();
    shares.join(", ")
}

/// The verdict in a sentence.
pub fn verdict(back: &Hindcast) -> String {
    let Some(scores) = &back.scores else {
        return "none: no inspection could be forecast".to_owned();
    };
    if scores.found == 0 {
        return "none: nothing was found below the limit, so no forecast can be told from another"
            .to_owned();
    }
    let of = |rival: Rival| scores.against.iter().find(|against| against.rival == rival);
    let (Some(known), Some(hindsight)) = (of(Rival::AgeKnown), of(Rival::AgeHindsight)) else {
        return "none".to_owned();
    };
    format!(
        "the forecast {} the age-only forecast in the log score, and {} the age curve fitted with hindsight; {}; {}",
        stands(known),
        stands(hindsight),
        tops(scores, known),
        numbers(scores)
    )
}

/// Whether as many were found as expected.
fn numbers(scores: &Scores) -> &'static str {
    if scores.expected < scores.found_interval.low {
        "more were found than expected, by more than chance alone gives"
    } else if scores.expected > scores.found_interval.high {
        "fewer were found than expected, by more than chance alone gives"
    } else {
        "as many were found as expected, as far as so many tell"
    }
}

fn stands(against: &Against) -> &'static str {
    match against.standing() {
        Standing::Beats => "beats",
        Standing::Ahead => "is ahead of, within chance,",
        Standing::DoesNotBeat => "does not beat",
    }
}

fn tops(scores: &Scores, known: &Against) -> String {
    let (own, its) = (scores.catches[1], known.catches[1]);
    let how = if own.caught > its.caught {
        "more than"
    } else if own.caught < its.caught {
        "fewer than"
    } else {
        "as many as"
    };
    format!(
        "its top 20 % hold {} of {} finds, {how} the {} of age alone",
        to_decimals(own.caught, 1),
        count(own.of),
        to_decimals(its.caught, 1)
    )
}

/// What must be kept in mind.
pub fn cautions(back: &Hindcast) -> Vec<String> {
    let mut cautions = Vec::new();
    match back.holds {
        Holds::Survivors => cautions.push(
            "The list holds survivors: most poles condemned since have left it, so few rejects are seen, and the fewer the \
             longer ago. Forecast and rivals reckon with that, by what [removals] says of how long a condemned pole stays \
             listed. With a list of all removed poles say --removed-listed: that proves more."
                .to_owned(),
        ),
        Holds::Removed => cautions.push(
            "Taken at its word: every pole removed since the earliest of these years is in the list, with its day."
                .to_owned(),
        ),
    }
    let left_out = back
        .years
        .iter()
        .map(|year| year.counts.removed_left_out)
        .max()
        .unwrap_or(0);
    if left_out > 0 {
        cautions.push(format!(
            "{} listed as removed were left out: only with all of them would they tell the truth.",
            counted(left_out, "pole", "poles")
        ));
    }
    let found = back.scores.as_ref().map_or(0, |scores| scores.found);
    if found < FEW_REJECTS {
        cautions.push(format!(
            "{} below the limit {} little: read the errors and intervals, not the means.",
            counted(found, "find", "finds"),
            if found == 1 { "proves" } else { "prove" }
        ));
    }
    cautions.push(
        "Facts of the list without a date (species, preservative, size, place, zone) are taken as known all along; that a \
         look took place, when and how, is taken as known; limits and detection are today's programme and models."
            .to_owned(),
    );
    cautions
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::score::hindcast::{Question, hindcast};
    use crate::words::sample;

    fn back(as_of: &[i16]) -> Hindcast {
        let sample = sample::fleet();
        let question = Question {
            as_of: as_of.to_vec(),
            window_years: None,
            holds: Holds::Survivors,
        };
        hindcast(
            &sample.inventory,
            &sample.models,
            &sample.programme,
            &question,
        )
    }

    #[test]
    fn the_page_ends_in_a_verdict_its_cautions_and_the_caution() {
        let text = page(
            "Five poles",
            &back(&[2024, 2025]),
            "out",
            &["hindcast.csv".to_owned()],
        );
        assert!(
            text.contains("2024: 2 inspections until 2025-01-01"),
            "{text}"
        );
        assert!(text.contains("Together: 3 inspections"), "{text}");
        assert!(text.contains("Verdict: the forecast "), "{text}");
        assert!(text.contains("The list holds survivors"), "{text}");
        assert!(
            text.contains("2 finds below the limit prove little"),
            "{text}"
        );
        assert!(
            text.ends_with(&format!("{}\n", Caution::Estimate.text())),
            "{text}"
        );
    }

    #[test]
    fn a_verdict_says_plainly_who_was_better() {
        let mut back = back(&[2024, 2025]);
        let gain = |back: &mut Hindcast, mean| {
            let scores = back.scores.as_mut().expect("scores");
            for against in &mut scores.against {
                against.log_gain = Measured {
                    mean,
                    standard_error: 0.01,
                };
            }
        };
        gain(&mut back, 0.05);
        assert!(verdict(&back).starts_with("the forecast beats the age-only forecast"));
        gain(&mut back, 0.01);
        assert!(
            verdict(&back).starts_with("the forecast is ahead of, within chance, the age-only")
        );
        gain(&mut back, -0.01);
        assert!(verdict(&back).starts_with("the forecast does not beat the age-only forecast"));
    }

    #[test]
    fn without_an_inspection_there_is_no_verdict() {
        let back = back(&[2010]);
        assert_eq!(verdict(&back), "none: no inspection could be forecast");
        assert!(page("Five poles", &back, "out", &[]).contains("no inspection until"));
    }
}
