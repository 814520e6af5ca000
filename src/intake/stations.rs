//! A table of weather stations to twelve months each, and where they stand; opens no file and knows nothing of poles.
//!
//! One row a station and month. Here nothing can be treated as unknown: an index of eleven months is no index. So every
//! fault is named, with its row, column and value, and none is mended.

use super::cells::{Number, read_back, read_number};
use super::rows::Cells;
use super::{Table, counted};
use crate::Error;
use crate::pole::Place;
use crate::wood::Month;
use std::collections::BTreeMap;
use std::path::PathBuf;

/// At most this many faults are listed; the others are counted.
const LISTED: usize = 10;

const HELP: &str = "one row for each station and each month from 1 to 12, with the columns station, month, \
                    mean_temperature_c (degrees Celsius) and wet_days (days with at least 0.25 mm of rain); other \
                    names are given with --column, for example --column wet_days=rain_days";

/// Our names of the columns, in the order in which help texts list them; the last two may be missing.
pub const COLUMNS: [&str; 6] = [
    "station",
    MONTH.name,
    TEMPERATURE.name,
    WET_DAYS.name,
    LONGITUDE.name,
    LATITUDE.name,
];

/// A weather station and its average year.
#[derive(Debug, Clone, PartialEq)]
pub struct Station {
    /// Its name, as it stands.
    pub name: String,
    /// January to December.
    pub year: [Month; 12],
    /// Where it stands, when the table has columns for it.
    pub place: Option<Place>,
}

/// A column of numbers, and what stands in it.
struct Column {
    name: &'static str,
    least: f64,
    greatest: f64,
    wanted: &'static str,
}

const MONTH: Column = Column {
    name: "month",
    least: 1.0,
    greatest: 12.0,
    wanted: "a month is a whole number from 1 to 12",
};

/// Wider than any place on earth, and narrower than a list in Fahrenheit (judgement).
const TEMPERATURE: Column = Column {
    name: "mean_temperature_c",
    least: -80.0,
    greatest: 45.0,
    wanted: "a month's mean in degrees Celsius is a number from -80 to 45 (is it in Fahrenheit?)",
};

const WET_DAYS: Column = Column {
    name: "wet_days",
    least: 0.0,
    greatest: 31.0,
    wanted: "the wet days of a month are a number from 0 to 31",
};

const LONGITUDE: Column = Column {
    name: "longitude",
    least: -180.0,
    greatest: 180.0,
    wanted: "degrees east are a number from -180 to 180",
};

const LATITUDE: Column = Column {
    name: "latitude",
    least: -90.0,
    greatest: 90.0,
    wanted: "degrees north are a number from -90 to 90",
};

/// The row that gives a month, and what it says where that could be read.
type Given = Option<(u32, Option<Month>)>;

/// The stations of a table, in the order of their names; `columns` gives the table's own names of our columns where they
/// differ.
///
/// # Errors
/// When a column is missing, a cell cannot be, or a station does not have each month once: all such faults at once.
pub fn stations(table: &Table, columns: &BTreeMap<String, String>) -> Result<Vec<Station>, Error> {
    let place = |name: &str| place_of(table, name, columns.get(name).map(String::as_str));
    let places = [
        place("station")?,
        place(MONTH.name)?,
        place(TEMPERATURE.name)?,
        place(WET_DAYS.name)?,
    ];
    let named = |name| columns.contains_key(name) || has(table, name);
    let where_it_is = if named(LONGITUDE.name) && named(LATITUDE.name) {
        Some([place(LONGITUDE.name)?, place(LATITUDE.name)?])
    } else {
        None
    };
    let noticed = table.noticed.iter();
    let mut faults: Vec<String> = noticed
        .map(|noticed| format!("row {}: {}", noticed.row, noticed.what))
        .collect();
    let mut given: BTreeMap<&str, [Given; 12]> = BTreeMap::new();
    let mut stands: BTreeMap<&str, (u32, Place)> = BTreeMap::new();
    for (row, cells) in table.rows.iter() {
        if cells.len() != table.columns.len() {
            faults.push(format!(
                "row {row}: {} under a header of {} (is a text or a number with a comma not quoted?)",
                counted(cells.len(), "cell"),
                table.columns.len()
            ));
            continue;
        }
        let Some((name, month, values)) = read_row(places, row, cells, &mut faults) else {
            continue;
        };
        if let Some([longitude, latitude]) = where_it_is {
            let mut read =
                |column, place: usize| number(column, row, cell(cells, place), &mut faults);
            let at = read(&LONGITUDE, longitude).zip(read(&LATITUDE, latitude));
            if let Some((longitude, latitude)) = at {
                let place = Place {
                    longitude,
                    latitude,
                };
                let (first, known) = *stands.entry(name).or_insert((row, place));
                if known != place {
                    faults.push(format!("row {row}: {name} stands elsewhere in row {first}"));
                }
            }
        }
        match &mut given.entry(name).or_default()[month - 1] {
            Some((first, _)) => faults.push(format!(
                "row {row}, column month, value \"{month}\": {name} has this month in row {first} already"
            )),
            free => *free = Some((row, values)),
        }
    }
    let all = given
        .into_iter()
        .filter_map(|(name, year)| {
            let year = whole_year(name, &year, &mut faults)?;
            Some(Station {
                name: name.to_owned(),
                year,
                place: stands.get(name).map(|(_, place)| *place),
            })
        })
        .collect();
    if faults.is_empty() {
        Ok(all)
    } else {
        Err(refused(table, &faults))
    }
}

/// A cell of a row that is as long as its header.
fn cell(cells: Cells<'_>, place: usize) -> &str {
    cells.get(place).unwrap_or("")
}

/// The station and the month of a row and, where both are good, its values.
fn read_row<'a>(
    [station, month, temperature, wet_days]: [usize; 4],
    row: u32,
    cells: Cells<'a>,
    faults: &mut Vec<String>,
) -> Option<(&'a str, usize, Option<Month>)> {
    let name = read_back(cell(cells, station)).trim();
    if name.is_empty() {
        faults.push(format!(
            "row {row}, column station, value \"\": a station needs a name"
        ));
    }
    let mut read = |column, place: usize| number(column, row, cell(cells, place), faults);
    let month = read(&MONTH, month);
    let temperature = read(&TEMPERATURE, temperature);
    let values = temperature.zip(read(&WET_DAYS, wet_days));
    let values = values.map(|(mean_temperature_c, wet_days)| Month {
        mean_temperature_c,
        wet_days,
    });
    month
        .filter(|_| !name.is_empty())
        .map(|month| (name, month as usize, values))
}

/// A name as columns are compared: in small letters, joined by underscores.
fn plain(column: &str) -> String {
    column.trim().to_lowercase().replace([' ', '-'], "_")
}

fn has(table: &Table, name: &str) -> bool {
    table.columns.iter().any(|column| plain(column) == name)
}

/// The place of the only column of this name, however it is written; `theirs` is the table's own name for it, as it
/// stands.
fn place_of(table: &Table, name: &str, theirs: Option<&str>) -> Result<usize, Error> {
    let fits = |column: &str| match theirs {
        Some(theirs) => column.trim() == theirs.trim(),
        None => plain(column) == name,
    };
    let name = theirs.unwrap_or(name);
    let named = |(place, column): (usize, &String)| fits(column).then_some(place);
    let places: Vec<usize> = table.columns.iter().enumerate().filter_map(named).collect();
    match places[..] {
        [place] => Ok(place),
        ref places => Err(Error::Unreadable {
            path: PathBuf::from(&table.file),
            what: format!(
                "{} of the name {name} among: {}",
                if places.is_empty() {
                    "no column"
                } else {
                    "more than one column"
                },
                table.columns.join(", ")
            ),
            help: HELP.to_owned(),
        }),
    }
}

/// The number in a cell; a fault when there is none that the column can hold.
fn number(column: &Column, row: u32, raw: &str, faults: &mut Vec<String>) -> Option<f64> {
    let whole_only = column.name == MONTH.name;
    match read_number(read_back(raw)) {
        Some((Number::One(value), None))
            if (column.least..=column.greatest).contains(&value)
                && !(whole_only && value.fract() > 0.0) =>
        {
            Some(value)
        }
        _ => {
            let Column { name, wanted, .. } = column;
            faults.push(format!("row {row}, column {name}, value {raw:?}: {wanted}"));
            None
        }
    }
}

/// The months, when each of them is known; months without a row are a fault, bad cells have been named.
fn whole_year(name: &str, year: &[Given; 12], faults: &mut Vec<String>) -> Option<[Month; 12]> {
    let missing: Vec<String> = (1..=12)
        .zip(year)
        .filter(|(_, given)| given.is_none())
        .map(|(number, _)| number.to_string())
        .collect();
    if !missing.is_empty() {
        faults.push(format!(
            "{name} has no usable row for month {}",
            missing.join(", ")
        ));
    }
    let months: Option<Vec<Month>> = year
        .iter()
        .map(|given| given.and_then(|(_, m)| m))
        .collect();
    months?.try_into().ok()
}

/// The error that names the faults, one a line.
fn refused(table: &Table, faults: &[String]) -> Error {
    let mut lines = vec![counted(faults.len(), "fault")];
    lines.extend(faults.iter().take(LISTED).cloned());
    if faults.len() > LISTED {
        lines.push(format!("... and {} more", faults.len() - LISTED));
    }
    // The help that follows stands in a line of its own.
    Error::Unreadable {
        path: PathBuf::from(&table.file),
        what: lines.join("\n  ") + "\n ",
        help: HELP.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two stations by month, "Up" before "Coast", from row 2 on.
    fn table() -> Table {
        let row = |station: &str, month: u32| {
            [station, &month.to_string(), "10.5", "9"]
                .map(str::to_owned)
                .to_vec()
        };
        let rows = (1..=12).flat_map(|month| [row("Up", month), row("Coast", month)]);
        Table {
            file: "stations.csv".to_owned(),
            columns: ["Station", "Month", "mean temperature C", "wet_days"]
                .map(str::to_owned)
                .to_vec(),
            rows: (2..).zip(rows).collect(),
            ..Table::default()
        }
    }

    fn told(table: &Table) -> String {
        stations(table, &BTreeMap::new())
            .expect_err("a fault")
            .to_string()
    }

    #[test]
    fn the_order_of_the_rows_does_not_matter() {
        let mut table = table();
        let there = stations(&table, &BTreeMap::new()).expect("two stations");
        let names: Vec<&str> = there.iter().map(|station| station.name.as_str()).collect();
        assert_eq!(names, ["Coast", "Up"]);
        assert!((there[0].year[11].mean_temperature_c - 10.5).abs() < 1e-12);
        table.rows.change(|rows| rows.reverse());
        assert_eq!(
            stations(&table, &BTreeMap::new()).expect("two stations"),
            there
        );
    }

    #[test]
    fn every_fault_is_named_with_its_place_and_value() {
        let mut table = table();
        table.rows.change(|rows| {
            rows[0].1[2] = "49".to_owned();
            rows[1].1[3] = "many".to_owned();
            rows[2].1[1] = "2.5".to_owned();
            rows[4].1[1] = "4".to_owned();
            rows[5].1[0] = " ".to_owned();
            rows[7].1.push("5".to_owned());
        });
        assert_eq!(
            told(&table),
            format!(
                "stations.csv: 8 faults\n  \
                 row 2, column mean_temperature_c, value \"49\": {}\n  \
                 row 3, column wet_days, value \"many\": {}\n  \
                 row 4, column month, value \"2.5\": {}\n  \
                 row 7, column station, value \"\": a station needs a name\n  \
                 row 8, column month, value \"4\": Up has this month in row 6 already\n  \
                 row 9: 5 cells under a header of 4 (is a text or a number with a comma not quoted?)\n  \
                 Coast has no usable row for month 3, 4\n  \
                 Up has no usable row for month 2, 3\n  \
                 (help: {HELP})",
                TEMPERATURE.wanted, WET_DAYS.wanted, MONTH.wanted
            )
        );
    }

    #[test]
    fn faults_beyond_a_screen_are_counted() {
        let mut table = table();
        table.rows.change(|rows| {
            for (_, cells) in rows {
                cells[3] = String::new();
            }
        });
        let told = told(&table);
        assert!(told.contains(": 24 faults\n"), "{told}");
        assert!(told.contains("\n  ... and 14 more\n"), "{told}");
    }

    #[test]
    fn a_column_is_there_once() {
        let mut table = table();
        table.columns[3] = "rain".to_owned();
        let missing = told(&table);
        assert!(
            missing.contains("no column of the name wet_days among: Station, Month"),
            "{missing}"
        );
        table.columns[3] = "station".to_owned();
        assert!(told(&table).contains("more than one column of the name station"));
    }

    #[test]
    fn a_table_may_have_its_own_names_and_say_where_its_stations_stand() {
        let mut table = table();
        table.columns[3] = "Rain days".to_owned();
        table.columns.extend(["lon", "lat"].map(str::to_owned));
        table.rows.change(|rows| {
            for (_, cells) in rows {
                let at = if cells[0] == "Up" { "11.5" } else { "-1.25" };
                cells.extend([at, "50.2"].map(str::to_owned));
            }
        });
        let names = [
            ("wet_days", "Rain days"),
            ("longitude", "lon"),
            ("latitude", "lat"),
        ];
        let names = names.map(|(ours, theirs)| (ours.to_owned(), theirs.to_owned()));
        let names = BTreeMap::from(names);
        let found = stations(&table, &names).expect("two stations");
        let places: Vec<_> = found.iter().map(|station| station.place).collect();
        let at = |longitude| {
            Some(Place {
                longitude,
                latitude: 50.2,
            })
        };
        assert_eq!(places, [at(-1.25), at(11.5)]);
        table.rows.change(|rows| {
            rows[4].1[4] = "12.5".to_owned();
            rows[6].1[5] = "91".to_owned();
        });
        let told = stations(&table, &names).expect_err("faults").to_string();
        assert!(
            told.contains("row 6: Up stands elsewhere in row 2"),
            "{told}"
        );
        assert!(
            told.contains("row 8, column latitude, value \"91\""),
            "{told}"
        );
    }
}
