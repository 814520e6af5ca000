//! The cross-checks of a plan in words: what rests on the owner's records, the pace of replacement against the lives, and
//! whose inspections found far less than they should.

use super::quantities::{Estimate, count, counted, to_decimals, to_figures, whole};
use crate::inventory::Inventory;
use crate::pole::Vocabulary;
use crate::score::crosscheck::{Crosscheck, Judgement, Pace};
use crate::score::practice::{Row, StandsOut};
use crate::score::whole_rounds::Rounds;
use serde::Serialize;

/// What a comparison of inspections cannot prove.
pub const PRACTICE_CAUTION: &str = "A comparison of records: it says whose work to check in the field, and proves no fault; a clean row proves no work well done.";

/// Contractors named on the page before the rest is only counted.
const NAMED: usize = 4;

/// What the checks of a plan found.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Checks {
    /// The plan's numbers held against each other.
    pub numbers: Crosscheck,
    /// Inspections on record.
    pub inspections: usize,
    /// Years of the forecast that the pace is taken from.
    pub horizon_years: u16,
    /// Inspections that found far less than like poles should show.
    pub far_below: Vec<FarBelow>,
}

/// A contractor's inspections that found far less than they should.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FarBelow {
    /// Who; `None` where nobody is recorded.
    pub contractor: Option<String>,
    /// One of the contractor's inspectors; all of them where nobody is named.
    pub inspector: Option<String>,
    /// How they looked.
    pub method: &'static str,
    /// Inspections.
    pub inspections: usize,
    /// Decay found, or poles below the limit where `why` says so.
    pub found: usize,
    /// How many should have been.
    pub expected: f64,
    /// What the others found of what they should.
    pub others_found_over_expected: Option<f64>,
    /// Why it stands out.
    pub why: &'static str,
}

impl Checks {
    /// The checks of a plan, as they are said.
    pub fn new(
        numbers: Crosscheck,
        horizon_years: u16,
        inventory: &Inventory,
        practice: &[Row],
    ) -> Self {
        Self {
            numbers,
            inspections: inventory.inspections().len(),
            horizon_years,
            far_below: practice
                .iter()
                .filter_map(|row| Some(far_below(inventory, row, row.stands_out?)))
                .collect(),
        }
    }
}

fn far_below(inventory: &Inventory, row: &Row, why: StandsOut) -> FarBelow {
    let (own, others) = match why {
        StandsOut::FewRejects => (row.own.rejected, row.others.rejected),
        StandsOut::LittleDecay | StandsOut::LittleDecayAtAll => {
            (row.own.decayed, row.others.decayed)
        }
    };
    FarBelow {
        contractor: row
            .contractor
            .map(|name| inventory.names.get(name).to_owned()),
        inspector: row
            .inspector
            .map(|name| inventory.names.get(name).to_owned()),
        method: row.method.word(),
        inspections: row.own.inspections,
        found: own.found,
        expected: own.expected,
        others_found_over_expected: others.ratio(),
        why: stands_out(why),
    }
}

/// Why inspections stand out.
pub const fn stands_out(why: StandsOut) -> &'static str {
    match why {
        StandsOut::LittleDecay => "found far less decay than the others on like poles",
        StandsOut::FewRejects => {
            "found far fewer poles below the limit than the others on like poles"
        }
        StandsOut::LittleDecayAtAll => {
            "found far less decay than the curves and the method's sensitivity give, and there is nobody to compare with"
        }
    }
}

/// The checks as lines of the page.
pub fn lines(checks: &Checks) -> Vec<String> {
    let mut lines = vec![
        "Cross-checks:".to_owned(),
        records(&checks.numbers.judgement, checks.inspections),
    ];
    lines.extend(
        Some(checks.numbers.rounds)
            .filter(|rounds| rounds.matter())
            .map(parts_of_lines),
    );
    lines.extend(
        checks
            .numbers
            .pace
            .map(|pace| pace_line(&pace, checks.horizon_years)),
    );
    lines.extend(checks.far_below.iter().take(NAMED).map(far_below_line));
    if checks.far_below.len() > NAMED {
        lines.push(format!(
            "  and {} more in practice.csv",
            count(checks.far_below.len() - NAMED)
        ));
    }
    if !checks.far_below.is_empty() {
        lines.push(format!("    {PRACTICE_CAUTION}"));
    }
    lines
}

fn records(judgement: &Judgement, inspections: usize) -> String {
    if inspections == 0 {
        return format!(
            "  below the limit today: {} expected by the published curves alone: no inspection is on record to correct them",
            whole(judgement.published_alone)
        );
    }
    format!(
        "  below the limit today: {} expected with your records, {} by the published curves alone on the same poles and rounds",
        whole(judgement.with_records),
        whole(judgement.published_alone)
    )
}

fn parts_of_lines(rounds: Rounds) -> String {
    format!(
        "  WARNING: {} of {} looked at less than 70 % of the poles of their line: if those were picked because they looked bad, all others are taken for worse than they are",
        count(rounds.in_parts),
        counted(rounds.inspections, "inspection", "inspections")
    )
}

fn pace_line(pace: &Pace, horizon_years: u16) -> String {
    let share = Estimate {
        value: 100.0 * pace.share_a_year,
        error: 100.0 * pace.standard_error,
    };
    let agree = if pace.mismatch {
        format!(
            "; THEY DO NOT AGREE: look at the ages (mean {} years), the rounds and crew-days, and whether the curves fit these poles",
            to_decimals(pace.mean_age, 0)
        )
    } else {
        String::new()
    };
    format!(
        "  pace: {share} % of the poles replaced a year over {}, as if each stood {} years; by your curves and other demand {} years{agree}",
        counted(usize::from(horizon_years), "year", "years"),
        to_figures(pace.implied_life, 2),
        to_figures(pace.life_of_curves, 2)
    )
}

fn far_below_line(row: &FarBelow) -> String {
    let inspector = row.inspector.as_deref();
    let inspector = inspector.map_or_else(String::new, |name| {
        format!(", inspector '{}'", super::screen::on_one_line(name))
    });
    format!(
        "  WARNING: '{}'{inspector}, {}: {} finds in {}, {} expected on like poles",
        super::screen::on_one_line(row.contractor.as_deref().unwrap_or("(nobody recorded)")),
        row.method,
        count(row.found),
        counted(row.inspections, "inspection", "inspections"),
        to_figures(row.expected, 2)
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn checks(mismatch: bool) -> Checks {
        Checks {
            numbers: Crosscheck {
                pace: Some(Pace {
                    share_a_year: 0.0069,
                    standard_error: 0.0001,
                    implied_life: 144.9,
                    life_of_curves: 60.2,
                    mean_age: 31.4,
                    mismatch,
                }),
                judgement: Judgement {
                    with_records: 411.6,
                    published_alone: 1_688.2,
                    with_records_in_a_year: 450.0,
                    published_alone_in_a_year: 1_800.0,
                },
                rounds: Rounds {
                    inspections: 1_200,
                    in_parts: 121,
                },
            },
            inspections: 1_200,
            horizon_years: 30,
            far_below: vec![FarBelow {
                contractor: Some("north\ncrew".to_owned()),
                inspector: None,
                method: "sound_and_bore",
                inspections: 1_200,
                found: 7,
                expected: 61.34,
                others_found_over_expected: Some(1.02),
                why: stands_out(StandsOut::LittleDecay),
            }],
        }
    }

    #[test]
    fn lives_that_do_not_agree_are_said_so() {
        let text = lines(&checks(true)).join("\n");
        assert!(
            text.contains("412 expected with your records, 1,688 by the published curves alone"),
            "{text}"
        );
        assert!(
            text.contains("WARNING: 121 of 1,200 inspections looked at less than 70 %"),
            "{text}"
        );
        assert!(
            text.contains("pace: 0.690 +- 0.010 % of the poles"),
            "{text}"
        );
        assert!(text.contains("as if each stood 140 years; by your curves and other demand 60 years; THEY DO NOT AGREE"), "{text}");
        assert!(!lines(&checks(false)).join("\n").contains("AGREE"));
    }

    #[test]
    fn who_found_far_too_little_is_a_warning_on_one_line_with_its_caution() {
        let text = lines(&checks(false)).join("\n");
        assert!(
            text.contains(
                "WARNING: 'north crew', sound_and_bore: 7 finds in 1,200 inspections, 61 expected"
            ),
            "{text}"
        );
        assert!(text.ends_with(PRACTICE_CAUTION));
    }
}
