//! `polewright climate`: Scheffer's index of weather stations and its class.
//!
//! Reads a table, asks [`scheffer_index`], and writes; nothing else of polewright reads the index.

use std::io::Write;
use std::path::PathBuf;

use serde::Serialize;

use super::written;
use crate::Error;
use crate::intake::{STATION_COLUMNS, stations};
use crate::io::read::read_table;
use crate::pole::Place;
use crate::programme::text::suggestion;
use crate::space::geodesic_distance;
use crate::wood::{ClimateClass, scheffer_index};

/// What the index is about, and what it is not about.
const ABOVE_GROUND: &str = "Above ground only: below 35 low, 35 to 65 moderate, above 65 high potential for decay. At \
                            the groundline the index is a weak stand-in; a decay zone is entered by the owner, never \
                            derived from it.";

/// With a place to be near to, so many stations are shown: the next ones say how far the nearest can be trusted.
const SHOWN: usize = 5;

/// Scheffer's climate index of weather stations: decay above ground
#[derive(Debug, Clone, clap::Args)]
#[command(after_help = "Examples:
  polewright climate data-demo/stations.csv
  polewright climate normals.csv --near=-88.24,40.12 --column wet_days=rain_days --column longitude=lon --column latitude=lat")]
pub struct ClimateArgs {
    /// Table with the columns `station`, `month` (1 to 12), `mean_temperature_c` and `wet_days` (0.25 mm of rain or more)
    #[arg(value_name = "STATIONS")]
    pub stations: PathBuf,
    /// Only the five stations nearest to this place (degrees east, degrees north), which need the columns `longitude` and
    /// `latitude`
    #[arg(long, value_name = "LON,LAT", value_parser = place, allow_hyphen_values = true)]
    pub near: Option<Place>,
    /// The table's own name for a column of ours; may be repeated
    #[arg(long = "column", value_name = "OURS=THEIRS", value_parser = renamed)]
    pub columns: Vec<(String, String)>,
    /// Write JSON
    #[arg(long)]
    pub json: bool,
}

#[derive(Serialize)]
struct Answer {
    station: String,
    scheffer_index: f64,
    class: &'static str,
    /// Along the ellipsoid, to the metre.
    #[serde(skip_serializing_if = "Option::is_none")]
    distance_m: Option<f64>,
}

fn place(text: &str) -> Result<Place, String> {
    let numbers: Vec<f64> = text
        .split(',')
        .filter_map(|part| part.trim().parse().ok())
        .collect();
    match numbers[..] {
        [longitude, latitude]
            if text.matches(',').count() == 1
                && longitude.abs() <= 180.0
                && latitude.abs() <= 90.0 =>
        {
            Ok(Place {
                longitude,
                latitude,
            })
        }
        _ => Err("a place is degrees east, a comma and degrees north: -88.24,40.12".to_owned()),
    }
}

fn renamed(text: &str) -> Result<(String, String), String> {
    let (ours, theirs) = text
        .split_once('=')
        .ok_or("write our name, = and the table's own: wet_days=rain_days")?;
    let ours = ours.trim();
    if STATION_COLUMNS.contains(&ours) {
        return Ok((ours.to_owned(), theirs.trim().to_owned()));
    }
    Err(suggestion(ours, STATION_COLUMNS.into_iter(), "columns"))
}

/// Works out the indices and writes them.
///
/// # Errors
/// When the table cannot be used, with all that is wrong in it, or `out` cannot be written.
pub fn run(args: &ClimateArgs, out: &mut impl Write) -> Result<(), Error> {
    let columns = args.columns.iter().cloned().collect();
    let stations = stations(&read_table(&args.stations)?, &columns)?;
    if args.near.is_some() && stations.iter().all(|station| station.place.is_none()) {
        return Err(Error::Unreadable {
            path: args.stations.clone(),
            what: "the stations have no longitude and latitude".to_owned(),
            help: "name the columns with --column longitude=... and --column latitude=..."
                .to_owned(),
        });
    }
    let mut answers: Vec<Answer> = stations
        .into_iter()
        .map(|station| {
            let index = scheffer_index(&station.year);
            let far = args.near.zip(station.place);
            Answer {
                station: station.name,
                scheffer_index: index,
                class: ClimateClass::of(index).word(),
                distance_m: far.map(|(from, to)| geodesic_distance(from, to).round()),
            }
        })
        .collect();
    if args.near.is_some() {
        let far = |answer: &Answer| answer.distance_m.unwrap_or(f64::INFINITY);
        answers.sort_by(|a, b| far(a).total_cmp(&far(b)));
        answers.truncate(SHOWN);
    }
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
            distance_m,
        } = answer;
        let far = distance_m.map_or_else(String::new, |metres| {
            format!(
                "{:pad$}  {:.0} km away",
                "",
                metres / 1000.0,
                pad = "moderate".len() - class.len()
            )
        });
        format!("{station:width$}  {scheffer_index:6.1}  {class}{far}")
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
            distance_m: None,
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

    #[test]
    fn a_place_is_two_degrees_and_a_column_one_of_ours() {
        let read = place("-88.24, 40.12").expect("a place");
        assert!((read.longitude + 88.24).abs() < 1e-12 && (read.latitude - 40.12).abs() < 1e-12);
        for wrong in ["40.12", "-188,40", "1,2,3", "x,y", "88,W"] {
            assert!(place(wrong).is_err(), "{wrong}");
        }
        assert!(renamed("wet_days=rain days").is_ok());
        assert!(
            renamed("wetdays=rain").is_err_and(|said| said.contains("did you mean \"wet_days\""))
        );
    }
}
