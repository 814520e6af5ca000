//! `plan --public`: what of a plan may go to everybody: totals, and squares of a coarse map.
//!
//! Which columns those are is decided in `tables::audience` alone. No file holds a row for a pole, a line, a package or a
//! contractor, so there is no schedule, no page, no workbook and no sheet for the field.

use crate::Error;
use crate::io::folder::Folder;
use crate::io::layers::areas::{properties, write_areas};
use crate::tables::audience::public_part;
use crate::tables::columns::columns;
use crate::tables::{ColumnInfo, Sheet, areas, calibration, quantities, totals};
use crate::words::{Case, Overview};

/// Writes everything but the run's record.
///
/// # Errors
/// When a file cannot be written.
pub fn write(folder: &mut Folder, fleet: Case<'_>, seen: &Overview) -> Result<(), Error> {
    let mut described: Vec<(String, Vec<ColumnInfo>)> = Vec::new();
    let sheets: [Sheet<'_>; 5] = [
        totals::totals(seen),
        areas::areas(fleet),
        quantities::quantities(fleet),
        calibration::calibration(fleet),
        totals::problem_counts(&seen.problems),
    ];
    for sheet in sheets.into_iter().filter_map(public_part) {
        folder.write_csv(&sheet)?;
        described.push((format!("{}.csv", sheet.name), sheet.columns));
    }
    folder.write("areas.geojson", |out| write_areas(fleet, out).map(drop))?;
    described.push(("areas.geojson".to_owned(), properties(fleet)));
    folder.write_csv(&columns(&described))?;
    Ok(())
}
