//! `polewright curves`: the service-life curves and the detection figures, with their sources.
//!
//! Writes what [`Models`] holds; computes nothing.

use std::fmt::Write as _;
use std::io::Write;

use serde::Serialize;

use super::written;
use crate::Error;
use crate::Models;
use crate::models::{Cell, Kind};
use crate::pole::{Method, Mode, Preservative, Species, Vocabulary};
use crate::units::Zone;
use crate::wood::LifeCurve;
use crate::wood::progress::REFERENCE_DIAMETER;

/// The service-life curves and the detection figures, with their sources.
#[derive(Debug, Clone, clap::Args)]
#[command(after_help = "Example: polewright curves --json")]
pub struct CurvesArgs {
    /// Write JSON
    #[arg(long)]
    pub json: bool,
}

#[derive(Serialize)]
struct Answer<'m> {
    cells: Vec<CellRow<'m>>,
    methods: Vec<MethodRow<'m>>,
}

/// One cell for one species group and one preservative that it applies to.
#[derive(Serialize)]
struct CellRow<'m> {
    kind: &'m str,
    preservative: &'static str,
    species_group: &'static str,
    through_bored: Option<bool>,
    zone: u8,
    median_years: f64,
    /// None for curves that are not lognormal.
    ln_sd: Option<f64>,
    between_fleet_ln_sd: f64,
    early_share: f64,
    protected_share_mean: f64,
    protected_share_sd: f64,
    internal_share: f64,
    mark: &'static str,
    source: &'m str,
}

#[derive(Serialize)]
struct MethodRow<'m> {
    method: &'static str,
    sensitivity: f64,
    sensitivity_range: [f64; 2],
    false_find: f64,
    false_reject: f64,
    /// In progress, outside decay at the reference diameter.
    measure_sd: f64,
    measure_sd_external_mm: f64,
    measure_sd_internal_mm: f64,
    verdict_sd: f64,
    /// Of the sensitivity: the other figures are proposed.
    sensitivity_mark: &'static str,
    source: &'m str,
}

/// Writes the curves.
///
/// # Errors
/// When `out` cannot be written.
pub fn run(args: &CurvesArgs, models: &Models, out: &mut impl Write) -> Result<(), Error> {
    let text = if args.json {
        let answer = Answer {
            cells: cell_rows(models),
            methods: method_rows(models),
        };
        // Finite numbers and texts: nothing here that JSON cannot hold.
        serde_json::to_string_pretty(&answer).unwrap_or_default() + "\n"
    } else {
        table(models)
    };
    written(out.write_all(text.as_bytes()))
}

fn cell_rows(models: &Models) -> Vec<CellRow<'_>> {
    let mut rows = Vec::new();
    for cell in &models.cells {
        let kind = &models.kinds[cell.kind];
        for (species, preservative) in pairs(kind) {
            rows.push(cell_row(kind, cell, species, preservative));
        }
    }
    rows
}

/// The words of what a kind applies to; the generic kind is for the unknown.
fn pairs(kind: &Kind) -> Vec<(&'static str, &'static str)> {
    if kind.is_generic() {
        return vec![("unknown", "unknown")];
    }
    let species = kind.species.iter().copied().map(Species::word);
    species
        .flat_map(|species| {
            let preservatives = kind.preservatives.iter().copied();
            preservatives.map(move |preservative| (species, Preservative::word(preservative)))
        })
        .collect()
}

fn cell_row<'m>(
    kind: &'m Kind,
    cell: &Cell,
    species_group: &'static str,
    preservative: &'static str,
) -> CellRow<'m> {
    CellRow {
        kind: &kind.id,
        preservative,
        species_group,
        through_bored: kind.through_bored,
        zone: cell.zone.number(),
        median_years: cell.life.main.quantile(0.5),
        ln_sd: spread(cell),
        between_fleet_ln_sd: cell.between_fleets_ln_sd,
        early_share: cell.life.early_share,
        protected_share_mean: cell.protected_mean,
        protected_share_sd: cell.protected_sd,
        internal_share: cell.internal_share,
        mark: kind.origin.mark.word(),
        source: &kind.origin.text,
    }
}

fn spread(cell: &Cell) -> Option<f64> {
    match cell.life.main {
        LifeCurve::Lognormal { ln_sd, .. } => Some(ln_sd),
        LifeCurve::Weibull { .. } => None,
    }
}

fn method_rows(models: &Models) -> Vec<MethodRow<'_>> {
    let rows = Method::ALL.into_iter().map(|method| {
        let (sees, origin) = (
            models.detection.of(method),
            &models.method_origins[method.index()],
        );
        MethodRow {
            method: method.word(),
            sensitivity: sees.sensitivity,
            sensitivity_range: models.sensitivity_range[method.index()],
            false_find: sees.false_find,
            false_reject: sees.false_reject,
            measure_sd: sees.measure_sd(Mode::External, REFERENCE_DIAMETER),
            measure_sd_external_mm: sees.measure_sd_mm[Mode::External.index()],
            measure_sd_internal_mm: sees.measure_sd_mm[Mode::Internal.index()],
            verdict_sd: sees.verdict_sd,
            sensitivity_mark: origin.mark.word(),
            source: &origin.text,
        }
    });
    rows.collect()
}

/// One line a kind and a method.
fn table(models: &Models) -> String {
    let mut text = String::from(
        "Median service life to two thirds of the original strength, years, groundline diameter 300 mm\n\n",
    );
    let head = "kind                             zone 1     2     3     4     5  spread  fleets  early  protected  mark";
    let _ = writeln!(text, "{head}");
    for (kind, cells) in models.kinds.iter().zip(models.cells.chunks(Zone::COUNT)) {
        let _ = write!(text, "{:33}", kind.id);
        for cell in cells {
            let _ = write!(text, "{:6.0}", cell.life.main.quantile(0.5));
        }
        // Spreads of the middle zone stand for all: the JSON has every one.
        let middle = &cells[Zone::COUNT / 2];
        let spread = spread(middle).map_or("-".to_owned(), |sd| format!("{sd:.2}"));
        let _ = writeln!(
            text,
            "{spread:>8}{:8.2}{:7.2}{:11.2}  {}",
            middle.between_fleets_ln_sd,
            middle.life.early_share,
            middle.protected_mean,
            kind.origin.mark.word()
        );
    }
    let _ = writeln!(
        text,
        "\nspread, fleets: standard deviation of the logarithm of life between poles, and of its median between fleets \
         (zone 3)\n\nmethod              finds at the limit  mark          false finds (proposed)"
    );
    for row in method_rows(models) {
        let _ = writeln!(
            text,
            "{:20}{:18.2}  {:14}{:.2}",
            row.method, row.sensitivity, row.sensitivity_mark, row.false_find
        );
    }
    text.push_str("\nSources stand in the files of models/ and in the output of --json.\n");
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::models::text::built_in;

    fn text(json: bool) -> String {
        let models = built_in().expect("valid models");
        let mut out = Vec::new();
        run(&CurvesArgs { json }, &models, &mut out).expect("written");
        String::from_utf8(out).expect("text")
    }

    #[test]
    fn json_holds_the_contracts_keys() {
        let answer: serde_json::Value = serde_json::from_str(&text(true)).expect("JSON");
        let cells = answer["cells"].as_array().expect("cells");
        let creosote = cells
            .iter()
            .find(|cell| {
                cell["preservative"] == "creosote"
                    && cell["species_group"] == "pine"
                    && cell["zone"] == 3
            })
            .expect("creosoted pine in zone 3");
        assert_eq!(creosote["median_years"].as_f64(), Some(50.0));
        for key in [
            "ln_sd",
            "between_fleet_ln_sd",
            "early_share",
            "protected_share_mean",
            "protected_share_sd",
        ] {
            assert!(creosote[key].is_number(), "{key}");
        }
        let methods = answer["methods"].as_array().expect("methods");
        assert_eq!(methods.len(), Method::ALL.len());
        for key in ["sensitivity", "false_find", "measure_sd", "verdict_sd"] {
            assert!(
                methods.iter().all(|method| method[key].is_number()),
                "{key}"
            );
        }
        assert_eq!(methods[0]["method"], "patrol");
    }

    #[test]
    fn the_table_has_a_line_for_every_kind_and_method() {
        let text = text(false);
        let models = built_in().expect("valid models");
        for kind in &models.kinds {
            assert!(
                text.lines().any(|line| line.starts_with(&kind.id)),
                "{}",
                kind.id
            );
        }
        for method in Method::ALL {
            assert!(text.contains(method.word()));
        }
    }
}
