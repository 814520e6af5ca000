//! `polewright climate`: Scheffer's index of weather stations and its class.
//!
//! Reads a table, asks [`scheffer_index`], and writes; nothing else of polewright reads the index.

use std::io::Write;
use std::path::PathBuf;

use serde::Serialize;

use super::written;
use crate::Error;
use crate::intake::stations;
use crate::io::read::read_table;
use crate::wood::{ClimateClass, scheffer_index};

/// What the index is about, and what it is not about.
const ABOVE_GROUND: &str = "Above ground only: below 35 low, 35 to 65 moderate, above 65 high potential for decay. At \
                            the groundline the index is a weak stand-in; a decay zone is entered by the owner, never \
                            derived from it.";

/// Scheffer's climate index of weather stations: decay above ground
#[derive(Debug, Clone, clap::Args)]
#[command(after_help = "Example: polewright climate data-demo/stations.csv")]
pub struct ClimateArgs {
    /// Table with the columns `station`, `month` (1 to 12), `mean_temperature_c` and `wet_days` (0.25 mm of rain or more)
    #[arg(value_name = "STATIONS")]
    pub stations: PathBuf,
    /// Write JSON
    #[arg(long)]
    pub json: bool,
}

#[derive(Serialize)]
struct Answer {
    station: String,
    scheffer_index: f64,
    class: &'static str,
}

/// Works out the indices and writes them.
///
/// # Errors
/// When the table cannot be used, with all that is wrong in it, or `out` cannot be written.
pub fn run(args: &ClimateArgs, out: &mut impl Write) -> Result<(), Error> {
    let stations = stations(&read_table(&args.stations)?)?;
    let answers: Vec<Answer> = stations
        .into_iter()
        .map(|station| {
            let index = scheffer_index(&station.year);
            Answer {
                station: station.name,
                scheffer_index: index,
                class: ClimateClass::of(index).word(),
            }
        })
        .collect();
    let text = if args.json {
        // Finite numbers and texts: nothing here that JSON cannot hold.
        serde_json::to_string_pretty(&answers).unwrap_or_default() + "\n"
    } else {
        page(&answers)
    };
    written(out.write_all(text.as_bytes()))
}

fn page(answers: &[Answer]) -> String {
    let widths = answers.iter().map(|answer| answer.station.chars().count());
    let width = widths.max().unwrap_or(0).max("station".len());
    let mut lines = vec![format!("{:width$}  {:>6}  class", "station", "index")];
    lines.extend(answers.iter().map(|answer| {
        let Answer {
            station,
            scheffer_index,
            class,
        } = answer;
        format!("{station:width$}  {scheffer_index:6.1}  {class}")
    }));
    lines.push(ABOVE_GROUND.to_owned());
    lines.join("\n") + "\n"
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_page_lines_up_and_ends_in_what_the_index_is_about() {
        let answer = |station: &str, scheffer_index, class| Answer {
            station: station.to_owned(),
            scheffer_index,
            class,
        };
        let page = page(&[
            answer("Bø", 56.349, "moderate"),
            answer("Saltmarsh", 147.38, "high"),
        ]);
        assert_eq!(
            page,
            format!(
                "station     index  class\n\
                 Bø           56.3  moderate\n\
                 Saltmarsh   147.4  high\n\
                 {ABOVE_GROUND}\n"
            )
        );
    }
}
