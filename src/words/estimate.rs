//! The supplier's hour: what a bare list, a zone and a number of years come to, in words, and the programme behind it.
//!
//! An estimate of new poles and no more: it is no offer and no inspection, and nobody's engineer has looked at a load. The
//! few assumptions that a list leaves to be made stand in the programme that is written, each with its reason.

use super::Case;
use super::overview::Overview;
use super::quantities::{counted, new_size_in_words, whole};
use super::screen::{Part, part};
use super::starter::lists;
use super::supply::in_a_cell;
use crate::intake::Guess;
use crate::pole::Vocabulary;
use crate::programme::Programme;
use crate::trial::Demand;
use crate::units::{Date, LengthUnit, Zone, anniversary, days_after};

/// What the page says first.
pub const NOT_AN_OFFER: &str = "An estimate, not an offer and not an inspection: numbers of poles from the list as it was received, with the band that the list leaves open.";

/// Who decides.
pub const ENGINEER: &str = "The customer's engineer decides the class of each new pole by its load; the class that came out proves nothing about the load of today. The numbers say when wood has probably decayed at the groundline, and clear no pole for climbing, loading or work.";

/// Years for which visits are scheduled, at most.
const MOST_SCHEDULED: u16 = 12;

/// Sizes told one by one on the terminal.
const SIZES_TOLD: usize = 12;

/// What an estimate is asked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Asked {
    /// The day on which it is made.
    pub on: Date,
    /// Days for which it holds.
    pub valid_days: i32,
    /// The decay zone.
    pub zone: Zone,
    /// Plan years.
    pub years: u16,
}

impl Asked {
    /// The day from which is planned: a plan made now is for the year that comes.
    pub fn plan_from(&self) -> Date {
        Date::new(self.on.year(), 1, 1).map_or(self.on, |first| anniversary(first, 1))
    }

    /// The last day on which it holds.
    pub fn valid_until(&self) -> Date {
        days_after(self.on, self.valid_days)
    }
}

/// Crew-days a year that bring the whole list round once in the shortest interval of its rules.
pub fn crew_days(programme: &Programme, poles: usize) -> f64 {
    let zone = programme.default_zone;
    let rules = programme.inspections.iter();
    let binding =
        rules.filter(|rule| rule.applies.zones.is_empty() || rule.applies.zones.contains(&zone));
    let years = binding
        .map(|rule| rule.repeat_years)
        .fold(f64::INFINITY, f64::min);
    let years = if years.is_finite() {
        years.max(1.0)
    } else {
        10.0
    };
    let a_day = programme.crews.poles_per_crew_day[programme.policy.method.index()];
    (poles as f64 / years / a_day).ceil().max(1.0)
}

/// The programme behind an estimate; `crew_days` once it is known how many poles there are.
pub fn programme(guesses: &[Guess], asked: &Asked, crew_days: Option<f64>) -> String {
    let crews = crew_days.map_or_else(String::new, |days| {
        format!(
            "# The whole list comes round once in the interval of its rule, evenly: nobody said how many crews there are.\n[crews]\ncrew_days_per_year = {days}\n"
        )
    });
    format!(
        "# The programme behind an estimate, guessed from a bare list: `polewright plan` runs it, and every figure can be set.\n# It is no offer and no inspection, and clears no pole for climbing, loading or work.\ntitle = \"Estimate of new poles\"\n\n# Made on {}. Nothing later than this day is read.\nplan_from = {}\nschedule_years = {}\nhorizon_years = {}\n\n# As it was asked for; of poles whose list gives none.\ndecay_zone = {}\n{crews}{}",
        asked.on,
        asked.plan_from(),
        asked.years.min(MOST_SCHEDULED),
        asked.years,
        asked.zone,
        lists(guesses)
    )
}

/// When it was made, for what and how long it holds.
pub fn terms(asked: &Asked, lists: &[String]) -> String {
    let last = asked.plan_from().year() + asked.years as i16 - 1;
    format!(
        "{}, decay zone {}, {} to {last} ({}). Made on {}, valid until {}.",
        lists.join(", "),
        asked.zone,
        asked.plan_from().year(),
        counted(usize::from(asked.years), "year", "years"),
        asked.on,
        asked.valid_until()
    )
}

/// What an estimate assumes beside the figures that nobody has confirmed.
pub fn assumptions(asked: &Asked, programme: &Programme) -> Vec<String> {
    vec![
        format!("All poles whose list gives no zone stand in decay zone {}.", asked.zone),
        format!(
            "The whole list is inspected once in the interval of its rule, evenly ({} crew-days a year); no budget limits the work.",
            programme.crews.crew_days_per_year
        ),
        format!(
            "What the inspections condemn is replaced within {} by a pole of the same size, species and preservative.",
            match programme.policy.replace_within_years {
                years if years <= 1.0 => "a year".to_owned(),
                years => format!("{years} years"),
            }
        ),
        "Poles of which the list says less are taken as a mixture of what it says of the others; that widens the bands.".to_owned(),
        "Poles for new lines, road works and storms are not in the numbers, but for a small yearly rate of other demand.".to_owned(),
    ]
}

/// New poles over all years by size, species and preservative, most first.
pub fn by_size<'a>(case: &Case<'a>, unit: LengthUnit) -> Vec<(String, &'a Demand)> {
    let forecast = &case.plan.forecast;
    let rows = forecast.by_group.iter().filter(|row| row.year.is_none());
    let mut sizes: Vec<(String, &Demand)> = rows
        .filter_map(|row| {
            let group = forecast.groups.get(row.group?)?;
            let word = |word: Option<&str>, what: &str| {
                word.map_or_else(|| format!("{what} unknown"), |word| word.replace('_', " "))
            };
            let name = format!(
                "{}, {}, {}",
                match new_size_in_words(&group.new, unit) {
                    unknown if unknown == "unknown" => "size unknown".to_owned(),
                    known => known,
                },
                word(group.species.map(Vocabulary::word), "species"),
                word(group.preservative.map(Vocabulary::word), "preservative")
            );
            Some((name, row))
        })
        .collect();
    sizes.sort_by(|one, other| other.1.count.mean.total_cmp(&one.1.count.mean));
    sizes
}

/// The terminal's page.
pub fn page(
    case: &Case<'_>,
    seen: &Overview,
    asked: &Asked,
    (lists, unit): (&[String], LengthUnit),
    (folder, files): (&str, &[String]),
) -> String {
    let mut said = part(seen, Part::Danger);
    said.push(format!("Estimate of new poles: {}", terms(asked, lists)));
    said.push(NOT_AN_OFFER.to_owned());
    said.extend(part(seen, Part::Read));
    said.extend(part(seen, Part::Replaced));
    let sizes = by_size(case, unit);
    said.push(format!(
        "By size over {} years (8 in 10 trials between):",
        asked.years
    ));
    let told = sizes.iter().take(SIZES_TOLD);
    said.extend(told.map(|(name, row)| format!("  {name}: {}", in_a_cell(row.count))));
    let more = sizes.iter().skip(SIZES_TOLD);
    let rest: f64 = more.map(|(_, row)| row.count.mean).sum();
    if sizes.len() > SIZES_TOLD {
        said.push(format!(
            "  and {} more with about {} poles, in quantities.csv",
            sizes.len() - SIZES_TOLD,
            whole(rest)
        ));
    }
    said.push("  upper ends of sizes do not add up to that of the total".to_owned());
    said.push("Assumed:".to_owned());
    let assumed = assumptions(asked, case.programme);
    said.extend(assumed.into_iter().map(|own| format!("  {own}")));
    said.extend(part(seen, Part::Assumed));
    said.push(format!("Written to {folder}: {}", files.join(", ")));
    said.push(ENGINEER.to_owned());
    said.push(seen.caution.to_owned());
    said.join("\n") + "\n"
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::intake::{Table, guess};
    use crate::programme::text;
    use crate::words::{overview, sample};
    use jiff::civil::date;
    use std::path::Path;

    const ASKED: Asked = Asked {
        on: date(2025, 11, 3),
        valid_days: 90,
        zone: Zone::ALL[3],
        years: 10,
    };

    fn counts() -> Guess {
        let row = |line, cells: [&str; 4]| (line, cells.map(str::to_owned).to_vec());
        let table = Table {
            file: "counts.csv".to_owned(),
            columns: ["size", "decade", "preservative", "count"]
                .map(str::to_owned)
                .to_vec(),
            rows: vec![
                row(2, ["40-4", "1970s", "creosote", "300"]),
                row(3, ["45-3", "1990s", "cca", "100"]),
            ]
            .into(),
            ..Table::default()
        };
        guess(&table, ASKED.plan_from())
    }

    #[test]
    fn the_programme_behind_an_estimate_runs_and_brings_the_list_round_once() {
        let read = |days| {
            let text = programme(&[counts()], &ASKED, days);
            text::read(&text, Path::new("estimate.toml"))
                .unwrap_or_else(|error| panic!("{error}\n{text}"))
        };
        let first = read(None);
        assert_eq!(
            (
                first.default_zone,
                first.horizon_years,
                first.schedule_years
            ),
            (Zone::ALL[3], 10, 10)
        );
        assert_eq!(first.plan_from, date(2026, 1, 1));
        // Zone 4 comes round in 8 years by the bulletin: 5,600 poles are 700 a year, 10 days at 70 a day.
        assert!((crew_days(&first, 5_600) - 10.0).abs() < 1e-12);
        assert!((read(Some(10.0)).crews.crew_days_per_year - 10.0).abs() < 1e-12);
    }

    #[test]
    fn an_estimate_says_what_it_is_from_when_and_for_how_long() {
        let said = terms(&ASKED, &["poles.csv".to_owned()]);
        assert_eq!(
            said,
            "poles.csv, decay zone 4, 2026 to 2035 (10 years). Made on 2025-11-03, valid until 2026-02-01."
        );
        let sample = sample::fleet();
        let seen = overview(
            &sample.inventory,
            &sample.problems,
            &sample.models,
            &sample.programme,
            &sample.plan,
        );
        let case = sample.case_of("A-1");
        let lists = ["poles.csv".to_owned()];
        let text = page(
            &case,
            &seen,
            &ASKED,
            (&lists, LengthUnit::Foot),
            ("out", &[]),
        );
        assert!(
            text.starts_with("DANGER: 1 pole is judged dangerous"),
            "{text}"
        );
        for words in [
            NOT_AN_OFFER,
            ENGINEER,
            "total: ",
            "40 ft class 4, pine, creosote: 3 (3 to 4)",
            "size unknown, pine, creosote",
            "never clears a pole",
        ] {
            assert!(text.contains(words), "{words}\n{text}");
        }
    }
}
