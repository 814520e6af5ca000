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
use crate::wood::second_opinion::{AgedFleet, CLIMATES, GroundDecay, MARK, WOOD};

/// The service-life curves and the detection figures, with their sources.
#[derive(Debug, Clone, clap::Args)]
#[command(after_help = "Example: polewright curves --json")]
pub struct CurvesArgs {
    /// Write JSON
    #[arg(long)]
    pub json: bool,
    /// Hold the curves against two decay models that are known from memory and unverified; no plan uses them
    #[arg(long)]
    pub second_opinion: bool,
}

#[derive(Serialize)]
struct Answer<'m> {
    cells: Vec<CellRow<'m>>,
    methods: Vec<MethodRow<'m>>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    second_opinion: Vec<OpinionRow>,
}

/// A median life of a model from memory.
#[derive(Serialize)]
struct OpinionRow {
    wood: &'static str,
    ground_climate_index: f64,
    median_years: f64,
    mark: &'static str,
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
            second_opinion: if args.second_opinion {
                opinion_rows()
            } else {
                Vec::new()
            },
        };
        // Finite numbers and texts: nothing here that JSON cannot hold.
        serde_json::to_string_pretty(&answer).unwrap_or_default() + "\n"
    } else if args.second_opinion {
        opinion_table()
    } else {
        table(models)
    };
    written(out.write_all(text.as_bytes()))
}

fn opinion_rows() -> Vec<OpinionRow> {
    let of_wood = |(wood, parameter): (&'static str, f64)| {
        CLIMATES.map(|climate| OpinionRow {
            wood,
            ground_climate_index: climate,
            median_years: GroundDecay::new(parameter, climate).median_life(),
            mark: MARK,
        })
    };
    WOOD.into_iter().flat_map(of_wood).collect()
}

/// The models from memory, with that word in the first line and under every table.
fn opinion_table() -> String {
    let mut text = format!(
        "A second opinion, {MARK}: no plan uses it. Formulas and figures are known, not read in their sources.\n\n\
         Median years to two thirds of the original strength, groundline diameter 300 mm, decay in the ground from the \
         outside,\nby ground climate index (Wang, Leicester and Nguyen, Manual No. 3, 2008; {MARK})\n\n{:35}",
        "wood"
    );
    for climate in CLIMATES {
        let _ = write!(text, "{climate:>8.1}");
    }
    text.push('\n');
    for rows in opinion_rows().chunks(CLIMATES.len()) {
        let _ = write!(text, "{:35}", rows[0].wood);
        for row in rows {
            let _ = write!(text, "{:8.0}", row.median_years);
        }
        text.push('\n');
    }
    let _ = writeln!(
        text,
        "\nA fleet that ages (Shafieezadeh et al., 2014, after Li et al., 2005; {MARK})\n\n\
         age, years     decayed     strength these have lost     strength of the fleet left"
    );
    for age in [20.0, 30.0, 40.0, 50.0, 60.0] {
        let fleet = AgedFleet::at(age);
        let _ = writeln!(
            text,
            "{age:10.0}{:12.2}{:29.2}{:31.2}",
            fleet.decayed, fleet.lost, fleet.left
        );
    }
    text
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
        "Median years to two thirds of the original strength, groundline diameter 300 mm\n\n",
    );
    let head = "kind                 zone   1  2  3  4  5  spread fleets early shell  mark";
    let _ = writeln!(text, "{head}");
    for (kind, cells) in models.kinds.iter().zip(models.cells.chunks(Zone::COUNT)) {
        let _ = write!(text, "{:26}", kind.id);
        for cell in cells {
            let _ = write!(text, "{:3.0}", cell.life.main.quantile(0.5));
        }
        // Spreads of the middle zone stand for all: the JSON has every one.
        let middle = &cells[Zone::COUNT / 2];
        let spread = spread(middle).map_or("-".to_owned(), |sd| format!("{sd:.2}"));
        let _ = writeln!(
            text,
            "{spread:>8}{:7.2}{:6.2}{:6.2}  {}",
            middle.between_fleets_ln_sd,
            middle.life.early_share,
            middle.protected_mean,
            kind.origin.mark.word()
        );
    }
    let _ = writeln!(
        text,
        "\nspread, fleets: standard deviation of the logarithm of life between poles, and of its median between fleets \
         (zone 3); early: share of early failures; shell: share of life before decay begins\n\nmethod              finds at the limit  mark          false finds (proposed)"
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
        asked(&CurvesArgs {
            json,
            second_opinion: false,
        })
    }

    fn asked(args: &CurvesArgs) -> String {
        let models = built_in().expect("valid models");
        let mut out = Vec::new();
        run(args, &models, &mut out).expect("written");
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

    #[test]
    fn what_is_from_memory_says_so_and_comes_only_when_asked_for() {
        let told = asked(&CurvesArgs {
            json: false,
            second_opinion: true,
        });
        // Class 2 in a temperate place: 7.514 + 18.963 / 0.72 = 33.9 years.
        let class_2 = told.lines().find(|line| line.contains("class 2"));
        assert!(class_2.is_some_and(|line| line.contains("34")), "{told}");
        assert_eq!(told.matches("from memory, unverified").count(), 3);
        let json = asked(&CurvesArgs {
            json: true,
            second_opinion: true,
        });
        let answer: serde_json::Value = serde_json::from_str(&json).expect("JSON");
        let rows = answer["second_opinion"].as_array().expect("rows");
        assert!(rows.iter().all(|row| row["mark"] == MARK));
        assert!(!text(true).contains("second_opinion") && !text(false).contains(MARK));
    }
}
