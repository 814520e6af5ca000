//! Text cells to an inventory and a list of problems; opens no files.

use crate::Error;
use crate::inventory::Inventory;
use crate::problem::Problems;
use crate::programme::Programme;

/// A file's content as text cells.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Table {
    /// File name as the programme writes it.
    pub file: String,
    /// Column names, as they stand.
    pub columns: Vec<String>,
    /// Rows: the physical line (or feature number) where each starts, and its cells.
    pub rows: Vec<(u32, Vec<String>)>,
}

/// The inventory that the tables hold, read as the programme says: `poles` and `inspections` in the order of the
/// programme's sources.
///
/// # Errors
/// On a column that is mapped but not there, and on codes of verdicts or methods that are not mapped.
pub fn take_in(
    _poles: &[Table],
    _inspections: &[Table],
    _programme: &Programme,
) -> Result<(Inventory, Problems), Error> {
    unimplemented!()
}
