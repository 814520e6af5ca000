//! What the stories of single poles need beside the schedule: inspections, chances by year, reasons, packages.
//!
//! A second packet of data: the page unpacks it after the map is drawn.

use super::Report;
use super::pack::{Column, differences, joined, quoted};
use crate::inventory::Inventory;
use crate::pole::{PoleIndex, Vocabulary};
use crate::schedule::prices::Part;
use crate::schedule::worth::values_by_part;
use crate::schedule::{Row, Standing};
use crate::tables::Value;
use crate::units::{Date, days_between};
use crate::words::explain::part_in_words;
use crate::words::quantities::{LEAST_CHANCE, chance, to_figures};
use crate::words::reasons::method_in_words;
use crate::words::story::{inspection_in_words, years_to_limit_in_words};
use crate::words::{Case, calendar_year, reason_of};

/// The day that the page's day numbers count from.
const FIRST_DAY: Date = Date::constant(1970, 1, 1);

/// Years from the plan date at which a pole's curve has points, as far as the horizon reaches: near years matter most.
const CURVE_YEARS: [usize; 12] = [0, 1, 2, 3, 5, 7, 10, 15, 20, 30, 50, 100];

/// The packet, as JSON.
pub fn packet(report: &Report<'_>) -> String {
    let fleet = report.fleet;
    let (mut reasons, mut limits) = (Column::default(), Column::default());
    for pole in fleet.inventory.indices() {
        let case = Case { pole, ..fleet };
        reasons.push_text(&reason_of(&case));
        limits.push_text(&years_to_limit_in_words(&case));
    }
    format!(
        "{{\"reason\":{},\"years_to_limit\":{},\"curve\":{},\"value\":{},\"inspections\":{},\"packages\":{}}}",
        reasons.json(),
        limits.json(),
        curves(fleet),
        values(fleet),
        inspections(fleet),
        packages(fleet)
    )
}

/// What the value of a visit comes from, for the poles of the first year and those that found no room: those of which
/// people ask why now. For all poles it would take as long as the schedule itself.
fn values(fleet: Case<'_>) -> String {
    let asked = |row: &Row| {
        let near = match row.standing {
            Standing::Planned { year, .. } => year == 0,
            Standing::Deferred { .. } => true,
            Standing::NotDue => false,
        };
        near && row.value_of_visit != 0.0
    };
    let rows = fleet.plan.schedule.rows.iter().map(|row| row.pole);
    let poles: Vec<PoleIndex> = rows
        .filter(|pole| asked(fleet.plan.schedule.row(*pole)))
        .collect();
    let found = values_by_part(
        fleet.inventory,
        fleet.models,
        &fleet.plan.beliefs,
        fleet.programme,
        &poles,
    );
    let mut parts = Part::ALL.map(|_| vec![Value::Empty; fleet.inventory.len()]);
    let mut otherwise = vec![Value::Empty; fleet.inventory.len()];
    for (pole, own) in poles.iter().zip(&found) {
        for (column, (_, value)) in parts.iter_mut().zip(own) {
            column[pole.get()] = Value::number(to_figures(value.at(0), 3));
        }
        if let Some((_, value)) = own.first() {
            otherwise[pole.get()] = Value::whole(calendar_year(fleet.programme, value.due_year));
        }
    }
    let json = |cells: &[Value]| {
        let mut column = Column::default();
        for cell in cells {
            column.push(cell);
        }
        column.json()
    };
    let names = Part::ALL.map(|part| quoted(part_in_words(part)));
    format!(
        "{{\"names\":[{}],\"parts\":[{}],\"otherwise\":{}}}",
        joined(names.into_iter()),
        joined(parts.iter().map(|cells| json(cells))),
        json(&otherwise)
    )
}

/// Chances of being below the limit every few years from the plan date.
fn curves(fleet: Case<'_>) -> String {
    let horizon = usize::from(fleet.programme.horizon_years);
    let years: Vec<usize> = CURVE_YEARS
        .into_iter()
        .filter(|year| *year <= horizon)
        .collect();
    let columns = years.iter().map(|year| {
        let mut column = Column::default();
        for pole in fleet.inventory.indices() {
            let yearly = &fleet.plan.beliefs.summary(pole).below_limit;
            column.push_number(
                yearly
                    .get(*year)
                    .map(|p| chance(f64::from(*p), LEAST_CHANCE)),
            );
        }
        column.json()
    });
    format!(
        "{{\"years\":[{}],\"columns\":[{}]}}",
        joined(years.iter().map(usize::to_string)),
        joined(columns)
    )
}

/// All inspections in the order of poles and dates: how many each pole has, and a column for each part.
fn inspections(fleet: Case<'_>) -> String {
    let inventory: &Inventory = fleet.inventory;
    let counts = inventory
        .indices()
        .map(|pole| inventory.inspections_of(pole).len().to_string());
    let all = inventory.inspections();
    let days = all
        .iter()
        .map(|seen| Some(i64::from(days_between(FIRST_DAY, seen.date))));
    let (mut verdicts, mut texts) = (Column::default(), Column::default());
    for seen in all {
        verdicts.push_text(seen.verdict.word());
        let case = Case {
            pole: seen.pole,
            ..fleet
        };
        texts.push_text(&inspection_in_words(&case, seen));
    }
    format!(
        "{{\"counts\":[{}],\"day\":{},\"verdict\":{},\"text\":{}}}",
        joined(counts),
        differences(days),
        verdicts.json(),
        texts.json()
    )
}

/// Packages with their poles in walking order.
fn packages(fleet: Case<'_>) -> String {
    let all = fleet.plan.schedule.packages.iter().map(|package| {
        let year = package.year.map_or_else(
            || "null".to_owned(),
            |year| calendar_year(fleet.programme, year).to_string(),
        );
        let places = package
            .poles
            .iter()
            .map(|PoleIndex(pole)| Some(i64::from(*pole)));
        format!(
            "{{\"name\":{},\"year\":{year},\"method\":{},\"poles\":{}}}",
            quoted(&package.name),
            quoted(method_in_words(package.method)),
            differences(places)
        )
    });
    format!("[{}]", joined(all))
}
