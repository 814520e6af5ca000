//! `calibration.csv`: for every curve cell that has poles, what was published and what the owner's findings made of it.

use super::audience::for_everybody;
use super::{Column, Holds, Sheet, Value, column, measured};
use crate::belief::CellLearning;
use crate::models::{Cell, Kind};
use crate::pole::{RemovalCause, Vocabulary};
use crate::words::Case;
use crate::words::quantities::{to_decimals, to_figures};
use crate::words::removed::teach_nothing;

/// What is said of a cell whose findings lie beyond what its curve can be shifted to.
pub const CONTRADICTED: &str = "the findings contradict the published curve or what the programme says of removed poles: do not trust this interval";

/// One row.
pub struct Line<'a> {
    fleet: Case<'a>,
    learned: &'a CellLearning,
}

impl<'a> Line<'a> {
    fn cell(&self) -> &'a Cell {
        self.fleet.models.cell(self.learned.cell)
    }

    fn kind(&self) -> &'a Kind {
        self.fleet.models.kind(self.learned.cell)
    }
}

/// What a plan learned.
pub fn calibration(fleet: Case<'_>) -> Sheet<'_> {
    let cells = &fleet.plan.beliefs.calibration.cells;
    let mut all = which();
    all.extend(medians());
    Sheet::new("calibration", for_everybody(all), cells.len(), move |row| {
        Line {
            fleet,
            learned: &cells[row],
        }
    })
}

fn which<'a>() -> Vec<Column<Line<'a>>> {
    vec![
        column("curve", Holds::Text, "id of the curve", |line| {
            Value::text(line.kind().id.as_str())
        }),
        column(
            "title",
            Holds::Text,
            "kind of pole that it is for",
            |line| Value::text(line.kind().title.as_str()),
        ),
        column("zone", Holds::Whole, "decay zone, 1 to 5", |line| {
            Value::whole(line.cell().zone.number())
        }),
        column(
            "mark",
            Holds::Text,
            "how far the published figure can be relied on",
            |line| Value::text(line.kind().origin.mark.word()),
        ),
        column(
            "source",
            Holds::Text,
            "where the published figure comes from",
            |line| Value::text(line.kind().origin.text.as_str()),
        ),
        measured(
            "poles",
            "poles",
            Holds::Whole,
            "poles of this cell",
            |line| Value::whole(line.learned.poles),
        ),
        measured(
            "poles",
            "poles_with_findings",
            Holds::Whole,
            "poles with an inspection that says something about the wood",
            |line| Value::whole(line.learned.poles_with_findings),
        ),
        measured(
            "inspections",
            "findings",
            Holds::Whole,
            "inspections used, those of removed poles included",
            |line| Value::whole(line.learned.findings),
        ),
    ]
}

fn medians<'a>() -> Vec<Column<Line<'a>>> {
    vec![
        measured(
            "years",
            "published_median",
            Holds::Number,
            "published median life",
            |line| year(line.learned.published[1]),
        ),
        measured(
            "years",
            "published_p05",
            Holds::Number,
            "lower end of its 90 % interval between fleets",
            |line| year(line.learned.published[0]),
        ),
        measured(
            "years",
            "published_p95",
            Holds::Number,
            "upper end",
            |line| year(line.learned.published[2]),
        ),
        measured(
            "years",
            "owners_median",
            Holds::Number,
            "median life of the owner's poles, from the published figure and the findings",
            |line| year(line.learned.owners[1]),
        ),
        measured(
            "years",
            "owners_p05",
            Holds::Number,
            "lower end of its 90 % interval",
            |line| year(line.learned.owners[0]),
        ),
        measured("years", "owners_p95", Holds::Number, "upper end", |line| {
            year(line.learned.owners[2])
        }),
        measured(
            "years",
            "owners_p05_if_sure",
            Holds::Number,
            "lower end of the interval as if the protected share, the spread of lives and how inspections see were known",
            |line| year(line.learned.owners_if_sure[0]),
        ),
        measured(
            "years",
            "owners_p95_if_sure",
            Holds::Number,
            "upper end",
            |line| year(line.learned.owners_if_sure[2]),
        ),
        column(
            "denominator",
            Holds::Text,
            "what was assumed of poles that are no longer listed",
            |line| Value::text(denominator(line)),
        ),
        measured(
            "poles",
            "removed_poles",
            Holds::Whole,
            "removed poles whose records were used",
            |line| Value::whole(line.learned.removed),
        ),
        column(
            "note",
            Holds::Text,
            "whether the findings contradict the curve so far that the interval cannot be trusted",
            |line| {
                Value::text(if line.learned.pinned {
                    CONTRADICTED
                } else {
                    ""
                })
            },
        ),
    ]
}

fn year(value: f64) -> Value {
    Value::number(to_decimals(value, 1))
}

fn denominator(line: &Line<'_>) -> String {
    let taught = |learned: &CellLearning| learned.findings > 0 || learned.removed > 0;
    if !taught(line.learned) {
        let cells = &line.fleet.plan.beliefs.calibration.cells;
        return if cells.iter().any(taught) {
            "no findings of its own: the published curve, moved by what the findings show of like curves"
        } else {
            "no findings: the published curve and its full doubt remain"
        }
        .to_owned();
    }
    let removals = line.fleet.programme.removals;
    let survivors = format!(
        "of those rejected at a recorded round {} % stay listed reinforced, the rest for {} years on average",
        to_figures(100.0 * removals.reinforced_share.get(), 2),
        to_figures(removals.mean_years_to_removal, 2)
    );
    let beliefs = &line.fleet.plan.beliefs;
    let records = beliefs.calibration.removed;
    let Some((since, listing)) = records.since.zip(beliefs.listing()) else {
        return format!(
            "the list holds survivors: failed poles are gone, and {survivors}{}",
            teach_nothing(&records).map_or_else(String::new, |text| format!("; {text}"))
        );
    };
    let causes = RemovalCause::ALL.map(|cause| {
        let share = listing.usable[cause.index()];
        match share {
            0.0 => format!("{} not listed", cause.word()),
            _ => format!("{} {} %", cause.word(), to_figures(100.0 * share, 2)),
        }
    });
    format!(
        "whoever stood and was listed on {since} is in the data, whatever became of it since (share of removed poles whose records can be used: {}); for earlier rounds, and where records are missing, {survivors}",
        causes.join(", ")
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pole::PoleIndex;
    use crate::tables::tests::{assert_typed, cell};
    use crate::words::sample;

    #[test]
    fn published_and_owners_medians_stand_beside_each_other() {
        let sample = sample::fleet();
        let sheet = calibration(sample.case(PoleIndex(0)));
        assert_typed(&sheet);
        assert_eq!(cell(&sheet, 0, "published_median"), "50");
        assert_eq!(cell(&sheet, 0, "owners_p95"), "66.6");
        assert!(cell(&sheet, 0, "denominator").contains("10 % stay listed"));
    }

    #[test]
    fn a_curve_without_findings_is_said_to_be_moved_by_like_curves_where_there_are_any() {
        let mut sample = sample::fleet();
        let cells = &mut sample.plan.beliefs.calibration.cells;
        let mut silent = cells[0].clone();
        (silent.findings, silent.removed) = (0, 0);
        cells.push(silent.clone());
        let said = |sample: &sample::Sample, row| {
            let sheet = calibration(sample.case(PoleIndex(0)));
            cell(&sheet, row, "denominator")
        };
        assert!(said(&sample, 1).starts_with("no findings of its own"));
        sample.plan.beliefs.calibration.cells = vec![silent];
        assert_eq!(
            said(&sample, 0),
            "no findings: the published curve and its full doubt remain"
        );
    }
}
